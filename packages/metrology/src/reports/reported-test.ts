/** The loads whose registration a summary counts, and the average of them. */
export const measures = ["fullLoad", "lightLoad", "powerFactor", "average"] as const;
export type Measure = (typeof measures)[number];

/** Why a record of a test is in the period and in no count: a later version stands for it, or it was withdrawn. */
export const setAsideStates = ["amended", "withdrawn"] as const;

/** What one pass of a test says to a summary: percent registration written out, null where it was not measured. */
export interface ReportedPass {
  readonly verdict: "pass" | "fail" | "incomplete";
  readonly fullLoad: string | null;
  readonly lightLoad: string | null;
  readonly powerFactor: string | null;
  readonly average: string | null;
  /** What was judged outside its limits, unrounded, when the test was recorded. */
  readonly outside: readonly Measure[];
  /** Whether the meter creeps; null where it was not looked at. */
  readonly creeps: boolean | null;
}

/** What the figures of a report hang on in one record of a test. */
export interface CountedTest {
  readonly typeId: string;
  /** Local date of the shop. */
  readonly performedOn: string;
  /** ISO 8601 instant in UTC with milliseconds, by the database's clock. */
  readonly recordedAt: string;
  readonly reasons: readonly string[];
  /** Local date of the meter's test before this one, null where none is on record. */
  readonly previousOn: string | null;
  readonly state: "counted" | (typeof setAsideStates)[number];
  readonly standardId: string | null;
  readonly calibrationId: string | null;
  /** Null where no test was possible, and in a withdrawal. */
  readonly asFound: ReportedPass | null;
  /** Null where nothing was tested as left. */
  readonly asLeft: ReportedPass | null;
  /** Null unless no test was possible. */
  readonly untestableReason: string | null;
}

/**
 * One record of a test as a report counts it: everything that a figure hangs on, whose it is, and nothing else. Its
 * canonical JSON is a leaf of the period's manifest, so a member is never renamed: another form is another format.
 */
export interface ReportedTest extends CountedTest {
  readonly id: string;
  /** Ledger entry that recorded it. */
  readonly entryId: string;
  readonly meterId: string;
}
