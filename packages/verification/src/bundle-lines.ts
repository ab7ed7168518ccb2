import { z } from "zod";

/**
 * The lines of an evidence bundle, form 1: one JSON object a line, in this order of kinds. docs/bundle.md says what each is
 * for. A bundle is held to this form exactly: a member that is not known would be something that nobody checked.
 */

const hash = z.string().regex(/^[0-9a-f]{64}$/);
const text = z.string().min(2);

/** An entry of the ledger with its place in the log. */
export const bundledEntrySchema = z.strictObject({
  index: z.int().min(0).describe("index of its leaf"),
  text: text.describe("canonical text of the entry, as it is hashed"),
  rows: z
    .strictObject({ count: z.int().min(0), root: hash })
    .nullable()
    .describe("what its leaf holds of the rows that it wrote; null for a leaf of format 1"),
});
export type BundledEntry = z.output<typeof bundledEntrySchema>;

const placeOutcomeSchema = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("waiting") }),
  z.strictObject({ kind: z.literal("left-out"), reason: z.string() }),
  z.strictObject({ kind: z.literal("untestable"), reason: z.string() }),
  z.strictObject({
    kind: z.literal("tested"),
    verdict: z.enum(["pass", "fail", "incomplete"]),
    readings: z.strictObject({
      "full-load": z.string().optional(),
      "light-load": z.string().optional(),
      "power-factor": z.string().optional(),
    }),
    average: z.string().nullable(),
  }),
]);

export const bundleLineSchema = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("bundle"),
    format: z.literal(1),
    reportId: z.string(),
    edition: z.int().min(1),
    names: z.enum(["left-out", "opened"]),
  }),
  z.strictObject({
    kind: z.literal("head"),
    note: text.describe("signed head of the log, a C2SP checkpoint"),
    key: text.describe("public key of the log as the shop gives it, C2SP signed-note form"),
  }),
  z.strictObject({
    kind: z.literal("earlier"),
    size: z.int().min(1).describe("entries under an earlier head"),
    root: hash.describe("its root"),
    hashes: z.array(hash).describe("RFC 6962 consistency proof from it to the bundle's head"),
  }),
  z.strictObject({
    kind: z.literal("report"),
    text: text.describe("the figures, the bytes that were hashed"),
  }),
  z.strictObject({ kind: z.literal("profile"), id: z.string(), key: z.string(), version: z.string(), text }),
  z.strictObject({
    kind: z.literal("test"),
    text: text.describe("canonical text of the record, a leaf of the manifest"),
    entry: bundledEntrySchema.nullable().describe("null where an earlier line brought the same entry"),
  }),
  z.strictObject({
    kind: z.literal("plan"),
    id: z.string(),
    code: z.string(),
    revision: z.int(),
    text,
  }),
  z.strictObject({
    kind: z.literal("calibration"),
    id: z.string(),
    standardId: z.string(),
    designation: z.string(),
    calibratedOn: z.iso.date(),
    dueOn: z.iso.date(),
    certificateNumber: z.string(),
    laboratory: z.string(),
    points: text.describe("certified points as percent registration, JSON"),
    entryId: z.string(),
  }),
  z.strictObject({
    kind: z.literal("lot"),
    id: z.string(),
    number: z.string(),
    schemeId: z.string(),
    scheme: text,
    plan: text,
    draws: z.array(
      z.strictObject({
        listId: z.string(),
        candidates: z.array(z.string()),
        seed: z.string(),
        n: z.int().min(1),
        spares: z.int().min(0),
      }),
    ),
    decisionId: z.string(),
    places: z.array(z.strictObject({ place: z.int(), meter: z.string(), outcome: placeOutcomeSchema })),
    evaluation: text,
  }),
  z.strictObject({ kind: z.literal("entry"), ...bundledEntrySchema.shape }),
  z.strictObject({
    kind: z.literal("name"),
    accountId: z.string(),
    name: z.string(),
    salt: z.string().regex(/^([0-9a-f]{2}){16,255}$/),
    commitment: hash,
  }),
  z.strictObject({ kind: z.literal("proof"), size: z.int().min(1), hashes: z.array(hash) }),
  z.strictObject({ kind: z.literal("end"), lines: z.int().min(0) }),
]);
export type BundleLine = z.output<typeof bundleLineSchema>;
export type LineOf<Kind extends BundleLine["kind"]> = Extract<BundleLine, { kind: Kind }>;
