import { z } from "zod";

/** UUID version 7: made by the client, sorts by time, doubles as idempotency key. */
export const idSchema = z
  .string()
  .regex(
    /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/,
    "must be a UUID of version 7",
  )
  .describe("UUID version 7");

/** A decimal number written out, as typed: exact, never a binary double. */
export const decimalSchema = z
  .string()
  .max(40)
  .regex(/^-?\d{1,15}(\.\d{1,15})?$/, "must be a decimal number such as 100.04")
  .describe("Decimal number as text");

export const positiveDecimalSchema = z
  .string()
  .max(40)
  .regex(/^\d{1,15}(\.\d{1,15})?$/, "must be a decimal number such as 7.2")
  .refine((text) => /[1-9]/.test(text), "must be above zero")
  .describe("Decimal number above zero as text");

export const notNegativeDecimalSchema = z
  .string()
  .max(40)
  .regex(/^\d{1,15}(\.\d{1,15})?$/, "must be a decimal number of 0 or more, such as 7.2")
  .describe("Decimal number of 0 or more as text");

/** An instant: ISO 8601 with offset or Z. */
export const instantSchema = z.iso.datetime({ offset: true }).describe("ISO 8601 instant");

/** A calendar date, local to the shop. */
export const dateSchema = z.iso.date().describe("ISO 8601 calendar date");

/** A line of text that people type: trimmed by the sender, not empty, no control characters. */
export function lineSchema(longest: number) {
  return z
    .string()
    .min(1, "must not be empty")
    .max(longest)
    .regex(/^[^\p{Cc}\p{Cs}]*$/u, "must not contain control characters")
    .refine((text) => text.trim() === text, "must not begin or end with a space");
}

/** Longer text: line breaks and tabs allowed. */
export function textSchema(longest: number) {
  return z
    .string()
    .max(longest)
    .refine((text) => !/[^\P{Cc}\n\r\t]|\p{Cs}/u.test(text), "must not contain control characters");
}

/** Why something was done or amended: at least a few words. */
export const reasonSchema = textSchema(500)
  .refine((text) => text.trim().length >= 5, "say in a few words why")
  .describe("Reason in words");

/** Pages go by key: pass the `next` of one reply as `cursor` of the following request. */
export const pageQuery = {
  cursor: z.string().max(500).optional().describe("`next` of the page before"),
  limit: z.coerce.number().int().min(1).max(200).default(50).describe("Rows on a page, 1 to 200"),
};

export function pageOf<Row extends z.ZodType>(row: Row) {
  return z.object({
    rows: z.array(row),
    next: z.string().nullable().describe("Cursor of the following page, null on the last"),
  });
}

export const idParams = z.object({ id: idSchema });

/** Who did something, as others may see it. */
export const personRefSchema = z.object({
  id: idSchema,
  name: z.string().describe("Printed name; 'erased' once the person was forgotten"),
});
export type PersonRef = z.infer<typeof personRefSchema>;

/** A signature as shown on screens and documents. */
export const signatureSchema = z.object({
  id: idSchema,
  person: personRefSchema,
  meaning: z.string(),
  signedAt: instantSchema,
  recordHash: z.string().describe("Hash of the ledger entry of the record that was signed"),
});
export type Signature = z.infer<typeof signatureSchema>;
