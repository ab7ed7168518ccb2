import { type CountedTest, measures } from "./reported-test.ts";
import { type Summary, type SummaryDimension, type SummaryRow, summaryDimensions } from "./summary-schema.ts";
import { type CountingTerms, rowFigures, type TestCounter, testCounter } from "./test-counter.ts";

/** Counts tests one by one, so that a year of them never has to be held at once. */
export interface Summariser {
  add(test: CountedTest): void;
  /** The summary of what was added so far. */
  result(): Summary;
}

/**
 * Counts the tests of a period: by type, reason, phase, test period and standard, and in each of these by accuracy class
 * at full load, light load, power factor and by the average. A test falls in exactly one class per measure; what is
 * outside its limits is counted apart, as it was judged, unrounded.
 *
 * @param terms  the layout's bands, the phases of every type, and since when a record counts as late
 * @throws RangeError, from add, if a test is of a type that the terms do not know
 * @source R 460.3617(2) of the Michigan Administrative Code as it stood before 10 April 2023 for the way of dividing
 */
export function summariser(terms: CountingTerms): Summariser {
  const counter = testCounter(terms);
  const rows = new Map<SummaryDimension, Map<string, Uint32Array>>(
    summaryDimensions.map((dimension) => [dimension, new Map()]),
  );
  rows.get("all")?.set("", new Uint32Array(counter.figures.length));
  const setAside = { amended: 0, withdrawn: 0 };
  const untestable = new Map<string, number>();
  return {
    add(test) {
      if (test.state !== "counted") {
        setAside[test.state] += 1;
        return;
      }
      if (test.untestableReason !== null) {
        untestable.set(test.untestableReason, (untestable.get(test.untestableReason) ?? 0) + 1);
      }
      const figures = counter.figuresOf(test);
      for (const [dimension, counted] of rows) {
        for (const key of counter.keysOf(test, dimension)) {
          let counts = counted.get(key);
          if (counts === undefined) {
            counts = new Uint32Array(counter.figures.length);
            counted.set(key, counts);
          }
          for (const figure of figures) counts[figure] = (counts[figure] ?? 0) + 1;
        }
      }
    },
    result: () => ({
      layout: {
        places: terms.bands.places,
        source: terms.bands.source,
        asFoundOnly: terms.bands.asFoundOnly === true,
        classes: counter.classes.map(({ key, label }) => ({ key, label })),
      },
      setAside: { ...setAside },
      untestable: [...untestable]
        .sort(([a], [b]) => (a < b ? -1 : 1))
        .map(([reason, tests]) => ({ reason, tests })),
      divisions: summaryDimensions.map((dimension) => ({
        dimension,
        rows: [...(rows.get(dimension) ?? [])]
          .sort(([a], [b]) => inOrder(a, b))
          .map(([key, counts]) => rowOf(counter, key, counts)),
      })),
    }),
  };
}

/** The summary of tests that are at hand. */
export function summarise(tests: Iterable<CountedTest>, terms: CountingTerms): Summary {
  const counting = summariser(terms);
  for (const test of tests) counting.add(test);
  return counting.result();
}

/** Test periods by their length, everything else as text; "first" stands last. */
function inOrder(a: string, b: string): number {
  const [restA, periodA] = splitPeriod(a);
  const [restB, periodB] = splitPeriod(b);
  if (restA !== restB) return restA < restB ? -1 : 1;
  return periodA - periodB;
}

function splitPeriod(key: string): [rest: string, period: number] {
  const match = /^(?:(.*) )?(\d{1,3}|first)$/.exec(key);
  if (match === null) return [key, 0];
  return [match[1] ?? "", match[2] === "first" ? Number.POSITIVE_INFINITY : Number(match[2])];
}

function rowOf({ classes, passes }: TestCounter, key: string, counts: Uint32Array): SummaryRow {
  const figure = (name: (typeof rowFigures)[number]) => counts[rowFigures.indexOf(name)] ?? 0;
  let at: number = rowFigures.length;
  return {
    key,
    tests: figure("tests"),
    withinLimits: figure("withinLimits"),
    outsideLimits: figure("outsideLimits"),
    incomplete: figure("incomplete"),
    noTestPossible: figure("noTestPossible"),
    leftOutsideLimits: figure("leftOutsideLimits"),
    severalReasons: figure("severalReasons"),
    late: figure("late"),
    measures: passes.flatMap((pass) =>
      measures.map((measure) => {
        const own = counts.subarray(at, at + 1 + classes.length);
        at += own.length;
        return { pass, measure, outsideLimits: own[0] ?? 0, classes: [...own.subarray(1)] };
      }),
    ),
  };
}
