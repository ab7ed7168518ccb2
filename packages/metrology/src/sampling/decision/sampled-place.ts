import type { AverageRole } from "../../accuracy/average-registration.ts";

/** A place of the sample with what became of the meter that fills it. */
export interface SampledPlace {
  /** 1 to n, in the order drawn. */
  place: number;
  /** Utility number of the meter that fills it: the one drawn, or the spare that stands in. */
  meter: string;
  outcome:
    | { kind: "waiting" }
    | { kind: "left-out"; reason: string }
    | { kind: "untestable"; reason: string }
    | {
        kind: "tested";
        /** The meter's own verdict as found, under its profile. */
        verdict: "pass" | "fail" | "incomplete";
        /** Percent registration as found by load, exact decimals. */
        readings: Partial<Record<AverageRole, string>>;
        /** The test's own average as found, null where it has none. */
        average: string | null;
      };
}
