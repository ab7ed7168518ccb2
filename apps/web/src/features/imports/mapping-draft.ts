import { importMappingSchema } from "@sealbook/contract/imports";
import { z } from "zod";
import { mappingFormSchema } from "./mapping-form.ts";

/** The form of a mapping that is not saved yet, kept in this tab so that a reload loses nothing. */

const draftSchema = z.object({
  format: z.literal(1),
  mappingId: z.string().describe("The mapping that is being changed, or 'new'"),
  base: importMappingSchema
    .nullable()
    .describe("The mapping as the form was opened with it, null for a new one"),
  form: mappingFormSchema,
});
export type MappingDraft = z.infer<typeof draftSchema>;

function draftPlace(importId: string): string {
  return `sealbook.mapping-draft.${importId}`;
}

export function keepDraft(storage: Pick<Storage, "setItem">, importId: string, draft: MappingDraft): void {
  try {
    storage.setItem(draftPlace(importId), JSON.stringify(draft));
  } catch {
    // Without room or leave to keep it there is no draft; the leave guard still asks before work is lost.
  }
}

/** The draft, or null where there is none, it cannot be read, or it belongs to another mapping. */
export function readDraft(
  storage: Pick<Storage, "getItem">,
  importId: string,
  mappingId: string,
): MappingDraft | null {
  try {
    const read = draftSchema.safeParse(JSON.parse(storage.getItem(draftPlace(importId)) ?? "null"));
    return read.success && read.data.mappingId === mappingId ? read.data : null;
  } catch {
    return null;
  }
}

export function dropDraft(storage: Pick<Storage, "removeItem">, importId: string): void {
  try {
    storage.removeItem(draftPlace(importId));
  } catch {
    // A draft that cannot be removed was never kept.
  }
}
