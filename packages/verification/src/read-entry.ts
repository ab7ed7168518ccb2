import { toHex, utf8 } from "@sealbook/evidence/bytes";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { z } from "zod";

const entrySchema = z.strictObject({
  format: z.literal(1),
  id: z.string(),
  at: z.iso.datetime(),
  actorId: z.string().nullable(),
  action: z.string(),
  subjectType: z.string(),
  subjectId: z.string(),
  reason: z.string().nullable(),
  payload: z.string(),
});

const payloadSchema = z.record(z.string(), z.unknown());

/** A ledger entry, read from the text that is hashed; its payload is parsed, too. */
export interface ReadEntry extends Omit<z.output<typeof entrySchema>, "format" | "payload"> {
  readonly payload: Readonly<Record<string, unknown>>;
  /** Index of its leaf. */
  readonly index: number;
  /** Hash of its text, as signatures name it. */
  readonly hash: string;
}

/** Reads the text of an entry; null where it is none. */
export function readEntry(text: string, index: number): ReadEntry | null {
  const value = parsed(text);
  const entry = entrySchema.safeParse(value);
  if (!entry.success) return null;
  const payload = payloadSchema.safeParse(parsed(entry.data.payload));
  if (!payload.success) return null;
  const { format: _, payload: __, ...rest } = entry.data;
  return { ...rest, payload: payload.data, index, hash: toHex(leafHash(utf8(text))) };
}

/** A text as JSON; undefined where it is none. */
export function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
