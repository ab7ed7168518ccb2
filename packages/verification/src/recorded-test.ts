import { passEntrySchema } from "@sealbook/contract/meter-tests";
import { accuracyClasses, circuitFactorsSchema } from "@sealbook/contract/meter-types";
import { occasions } from "@sealbook/contract/test-plans";
import { z } from "zod";

/**
 * What the entry of a test holds, as far as a verifier needs it. The entry was made by the service when the test was
 * recorded; it holds what was typed, so that all figures can be made of it again.
 */
const recordedTestSchema = z.object({
  meterId: z.string(),
  planId: z.string(),
  profileId: z.string(),
  profileKey: z.string(),
  placeId: z.string(),
  testerId: z.string(),
  supersedesId: z.string().optional(),
  performedAt: z.iso.datetime(),
  reasons: z.array(z.string()).min(1),
  standardId: z.string().nullable(),
  calibrationId: z.string().nullable(),
  errorAppliedByBench: z.boolean().nullable(),
  entered: z.object({
    nameplate: z.object({
      utilityNumber: z.string(),
      form: z.string(),
      kh: z.string(),
      kt: z.string().nullable(),
      accuracyClass: z.enum(accuracyClasses),
      testAmperes: z.string(),
      designVolts: z.string(),
      circuitFactors: circuitFactorsSchema,
    }),
    occasion: z.enum(occasions).nullable(),
    outcome: z.discriminatedUnion("kind", [
      z.object({
        kind: z.literal("tested"),
        asFound: passEntrySchema,
        asLeft: z.discriminatedUnion("kind", [
          z.object({ kind: z.literal("same") }),
          z.object({ kind: z.literal("entered"), pass: passEntrySchema }),
          z.object({ kind: z.literal("not-tested") }),
        ]),
      }),
      z.object({ kind: z.literal("no-test-possible"), reason: z.string() }),
      z.object({ kind: z.literal("withdrawn") }),
    ]),
  }),
  verdictAsFound: z.string(),
  verdictAsLeft: z.string().nullable(),
  averageAsFound: z.string().nullable(),
  averageAsLeft: z.string().nullable(),
  points: z.array(
    z.object({
      pass: z.enum(["as-found", "as-left"]),
      pointKey: z.string(),
      registrationPercent: z.string(),
      verdict: z.string(),
    }),
  ),
  engineVersion: z.string(),
  evaluationSha256: z.string(),
});
export type RecordedTest = z.output<typeof recordedTestSchema>;

/** The payload of a test's entry; null where it is none. */
export function readRecordedTest(payload: unknown): RecordedTest | null {
  return recordedTestSchema.safeParse(payload).data ?? null;
}

const passSchema = z.strictObject({
  verdict: z.enum(["pass", "fail", "incomplete"]),
  fullLoad: z.string().nullable(),
  lightLoad: z.string().nullable(),
  powerFactor: z.string().nullable(),
  average: z.string().nullable(),
  outside: z.array(z.enum(["fullLoad", "lightLoad", "powerFactor", "average"])),
  creeps: z.boolean().nullable(),
});

/** One record of a test as a report counts it: the form of metrology's ReportedTest as it travels. */
export const reportedTestSchema = z.strictObject({
  id: z.string(),
  entryId: z.string(),
  meterId: z.string(),
  typeId: z.string(),
  performedOn: z.iso.date(),
  recordedAt: z.iso.datetime(),
  reasons: z.array(z.string()).min(1),
  previousOn: z.iso.date().nullable(),
  state: z.enum(["counted", "amended", "withdrawn"]),
  standardId: z.string().nullable(),
  calibrationId: z.string().nullable(),
  asFound: passSchema.nullable(),
  asLeft: passSchema.nullable(),
  untestableReason: z.string().nullable(),
});
