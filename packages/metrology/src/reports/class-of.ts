import { bandFinder } from "../profiles/band-finder.ts";
import type { RuleProfile } from "../profiles/profile-schema.ts";
import type { CountedTest, Measure, ReportedPass } from "./reported-test.ts";

type ReportBands = NonNullable<RuleProfile["reportBands"]>;

/** A class of the layout: what a test is counted in, at one load or by its average. */
export interface ReportClass {
  readonly key: string;
  readonly label: string;
}

const notRecording: ReportClass = { key: "not-recording", label: "Not recording" };
const creeping: ReportClass = { key: "creeping", label: "Creeping" };
const noTestPossible: ReportClass = { key: "no-test-possible", label: "No test possible" };
const notMeasured: ReportClass = { key: "not-measured", label: "Not measured" };

/** Of the reasons why no test was possible, those that say that the meter records nothing. */
const recordsNothing: ReadonlySet<string | null> = new Set(["not-registering", "dead"]);

/**
 * Classes of a layout in the order in which they are printed: not recording, creeping, the bands from the lowest up; then
 * the two that keep the sum whole, tests without a result and loads that were not measured.
 */
export function classesOf({ bands }: ReportBands): ReportClass[] {
  return [
    notRecording,
    creeping,
    ...bands.map(({ label }, index) => ({ key: `band-${index + 1}`, label })),
    noTestPossible,
    notMeasured,
  ];
}

/**
 * Says which class a test falls in at a load or by its average: exactly one. Not recording goes before creeping, and
 * creeping before the bands: a meter that creeps is counted as that, whatever it registers under load.
 *
 * @param bands  the layout's bands; a registration is rounded to their decimals, half away from zero
 * @returns a function from a pass of a test and a measure to the place of its class among classesOf(bands)
 * @source R 460.3617(2) of the Michigan Administrative Code as it stood before 10 April 2023 names the classes; their
 *   precedence, and that a dead meter does not record: common practice, no source
 */
export function classFinder(
  bands: ReportBands,
): (test: CountedTest, pass: ReportedPass | null, measure: Measure) => number {
  const bandAt = bandFinder(bands);
  const lastBand = 1 + bands.bands.length;
  return (test, pass, measure) => {
    if (pass === null) {
      if (test.untestableReason === null) return lastBand + 2;
      return recordsNothing.has(test.untestableReason) ? 0 : lastBand + 1;
    }
    const registration = pass[measure];
    if (registration === null) return lastBand + 2;
    if (isZero(registration)) return 0;
    if (pass.creeps === true) return 1;
    return 2 + bandAt(registration);
  };
}

function isZero(decimal: string): boolean {
  // Nearly every registration begins with another digit.
  return /^[+-]?0*(\.0*)?$/.test(decimal);
}
