import type { AnsweredByTest } from "@sealbook/contract/asked-of-test";
import type { Amendment, NewMeterTest } from "@sealbook/contract/meter-tests";
import type { MeterType } from "@sealbook/contract/meter-types";
import type { Verdict } from "@sealbook/contract/meters";
import type { ProblemError as ErrorDetail } from "@sealbook/contract/problems";
import type { AverageRule, PassName } from "@sealbook/metrology/accuracy/test-terms";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import type { NewEntry } from "../../platform/ledger.ts";
import type { StandardOnDate } from "../standards/standards.ts";
import type { PlanDocument } from "./documents.ts";

/** What a person entered, or what a row of a bench's file says. */
export type TestInput = Omit<NewMeterTest, "signature" | "outcome"> & { outcome: Amendment["outcome"] };

/** Where a test comes from. */
export interface TestOrigin {
  /** Who performed it. */
  testerId: string;
  /** The row of a bench's file; null for a test that was entered on the screen. */
  imported: { importId: string; row: number } | null;
  /** The record that this one amends, and why. */
  supersedes: { id: string; reason: string; answered: AnsweredByTest } | null;
}

export interface BuiltPoint {
  pass: PassName;
  ordinal: number;
  pointKey: string;
  role: "full-load" | "light-load" | "power-factor" | "none";
  registrationPercent: string;
  verdict: "pass" | "fail" | "undecided" | "not-judged";
}

/** A test judged and ready to be put on record. */
export interface BuiltTest {
  id: string;
  meterId: string;
  planId: string;
  profileId: string;
  placeId: string;
  reasons: string[];
  performedAt: Date;
  testerId: string;
  imported: TestOrigin["imported"];
  standardId: string | null;
  calibrationId: string | null;
  errorAppliedByBench: boolean | null;
  outcome: "tested" | "no-test-possible" | "withdrawn";
  untestableReason: string | null;
  entryBody: string;
  evaluation: string;
  engineVersion: string;
  verdictAsFound: Verdict;
  verdictAsLeft: "pass" | "fail" | "incomplete" | null;
  averageAsFound: string | null;
  averageAsLeft: string | null;
  creeping: boolean | null;
  supersedes: TestOrigin["supersedes"];
  points: BuiltPoint[];
  fileIds: string[];
  entry: NewEntry;
}

export type BuildResult =
  | { kind: "built"; test: BuiltTest }
  | {
      kind: "refused";
      slug: "not-found" | "refused-by-rule" | "standard-overdue";
      detail: string;
      errors: ErrorDetail[];
    };

/** The rows that a test leans on. */
export interface TestRequest {
  meterId: string;
  /** Null where the plan is known already. */
  planId: string | null;
  standardId: string | null;
  performedAt: Date;
  /** Where the meter was, when a record says so already. */
  at?: PlaceOfTest | null;
}

/** Where a meter was when it was tested, and whose rules hold there. */
export interface PlaceOfTest {
  placeId: string;
  jurisdiction: string;
}

export interface MeterToTest {
  id: string;
  utilityNumber: string;
  serial: string;
  /** Local date of the meter's first event; null when it has none. */
  firstEventOn: string | null;
  /** Reason of a legal hold that stands on it; null without one. */
  heldFor: string | null;
  type: MeterType;
}

export interface ProfileInForce {
  id: string;
  document: RuleProfile;
  /** First local date of the tests that it judges; null from the beginning. */
  effectiveFrom: string | null;
  /** The average of a record that is amended, which stays; else the profile's or the utility's choice. */
  averageRule?: AverageRule;
}

/** Everything that building tests needs, read beforehand, so that building is pure. */
export interface Gathered {
  timeZone: string;
  /** Averaging methods that the utility has chosen: jurisdiction -> key of the profile's average. */
  averageMethods: Readonly<Record<string, string>>;
  meters: ReadonlyMap<string, MeterToTest>;
  /** By meter and moment, see placeKey. */
  places: ReadonlyMap<string, PlaceOfTest>;
  plans: ReadonlyMap<string, PlanDocument>;
  /** Approved versions by jurisdiction, the one that takes over last first. */
  profiles: ReadonlyMap<string, readonly ProfileInForce[]>;
  /** By standard and local date, see standardKey. */
  standards: ReadonlyMap<string, StandardOnDate>;
}
