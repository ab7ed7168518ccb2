import { untestableReasons } from "@sealbook/contract/meter-tests";
import { testReasons } from "@sealbook/contract/work-items";
import { z } from "zod";

/**
 * The state of the screen that logs a test: every field as it was typed, text in and text out. It is a schema, too,
 * because a draft of it is kept on the device and read back after a reload.
 */

/** How the runs of a test are entered. */
export const entryKinds = ["counts", "revolutions", "registration"] as const;
export type EntryKind = (typeof entryKinds)[number];

/** One run: the fields of every kind of entry, so that switching the kind loses nothing that was typed. */
const runFormSchema = z.object({
  kind: z.enum(entryKinds),
  counts: z.string(),
  standardEnergy: z.string(),
  standardRevolutions: z.string(),
  standardConstant: z.string(),
  registrationPercent: z.string(),
});
export type RunForm = z.infer<typeof runFormSchema>;
export type RunField = Exclude<keyof RunForm, "kind">;

/** A demand reading: full scale and load both, so that a plan of either basis finds its field. */
const demandFormSchema = z.object({
  indicatedKw: z.string(),
  referenceKw: z.string(),
  fullScaleKw: z.string(),
  loadPercent: z.string(),
});
export type DemandForm = z.infer<typeof demandFormSchema>;
export type DemandField = keyof DemandForm;

const passFormSchema = z.object({
  points: z.array(z.object({ pointKey: z.string(), runs: z.array(runFormSchema) })),
  creep: z.enum(["none", "creeps", "not-checked", ""]),
  startingLoad: z.enum(["starts", "does-not-start", "not-checked", ""]).default(""),
  demand: z.array(demandFormSchema).default([]),
});
export type PassForm = z.infer<typeof passFormSchema>;

/** As found, and as left where something was adjusted. */
export type FormPass = "asFound" | "asLeftPass";

export const testFormSchema = z.object({
  /** Id of the record to be; every attempt to save carries it, so that a retry records nothing twice. */
  id: z.string(),
  /** Reasons ticked by hand, beside those of the open work that is ticked. */
  reasons: z.array(z.enum(testReasons)),
  workItemIds: z.array(z.string()),
  /** Local time of the shop. */
  performedAt: z.string(),
  /** The moment that stood in performedAt at first, to the millisecond; sent as long as the text stays. */
  openedAt: z.object({ text: z.string(), instant: z.string() }),
  standardId: z.string(),
  errorAppliedByBench: z.enum(["yes", "no", ""]),
  preconditionsConfirmed: z.array(z.string()),
  outcome: z.enum(["tested", "no-test-possible", "withdrawn"]),
  asFound: passFormSchema,
  asLeft: z.enum(["same", "entered", "not-tested", ""]),
  asLeftPass: passFormSchema,
  adjustment: z.string(),
  whyNotTested: z.string(),
  untestableReason: z.enum([...untestableReasons, ""]),
  untestableNote: z.string(),
  volts: z.string(),
  amperes: z.string(),
  temperatureCelsius: z.string(),
  readingBefore: z.string(),
  readingAfter: z.string(),
  sealsRemoved: z.array(z.string()),
  sealsApplied: z.array(z.string()),
  remarks: z.string(),
  files: z.array(z.object({ id: z.string(), name: z.string() })),
});
export type TestForm = z.infer<typeof testFormSchema>;
