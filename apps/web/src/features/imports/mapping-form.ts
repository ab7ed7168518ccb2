import { importKinds, testMappingSchema } from "@sealbook/contract/imports";
import { testReasons } from "@sealbook/contract/work-items";
import { z } from "zod";

/** One of the file's words, and ours for it; "" where none is chosen yet. */
const wordRowSchema = z.object({ key: z.int(), word: z.string(), meaning: z.string() });
export type WordRow = z.infer<typeof wordRowSchema>;

const { shape } = testMappingSchema;
const orNone = z.literal("");

/**
 * A mapping as its form holds it, of either kind: what its kind does not ask stays as it opens. "" is a choice that nobody has made yet; it has a shape of its own so that a draft
 * kept over a reload can be read back.
 */
export const mappingFormSchema = z.object({
  kind: z.enum(importKinds),
  name: z.string(),
  separator: z.union([shape.separator, orNone]),
  decimalMark: z.union([shape.decimalMark, orNone]),
  dateOrder: z.union([shape.dateOrder, orNone]),
  timeZone: z.string(),
  columns: z
    .array(z.object({ heading: z.string(), field: z.string(), isInFile: z.boolean() }))
    .describe("In the order of the file; then those that the mapping knows and the file has not"),
  figures: z.union([shape.figures, orNone]),
  energyUnit: z.union([shape.energyUnit, orNone]),
  planCode: z.string().describe("'' takes each type's own plan"),
  standardDesignation: z.string().describe("'' leaves it to a column"),
  errorAppliedByBench: z.enum(["", "yes", "no"]),
  defaultReason: z.union([z.enum(testReasons), orNone]),
  reasons: z.array(wordRowSchema),
  noTestPossible: z.array(wordRowSchema),
  creepWords: z.array(wordRowSchema),
});
export type MappingForm = z.infer<typeof mappingFormSchema>;
