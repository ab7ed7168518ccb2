import type { RuleProfile } from "../profiles/profile-schema.ts";
import { classesOf, classFinder, type ReportClass } from "./class-of.ts";
import { type CountedTest, measures, type ReportedPass } from "./reported-test.ts";
import type { SummaryDimension, SummaryPass } from "./summary-schema.ts";
import { testPeriodOf } from "./test-period-of.ts";

type ReportBands = NonNullable<RuleProfile["reportBands"]>;

/** What counting leans on beside the tests. */
export interface CountingTerms {
  readonly bands: ReportBands;
  /** Phases of each type, 1 to 3, by its id. */
  readonly phasesOfType: ReadonlyMap<string, number>;
  /** When the edition before was fixed, ISO 8601 in UTC; null for a first edition. */
  readonly lateSince: string | null;
}

/** Figures of a row beside its classes, in the order in which they are counted. */
export const rowFigures = [
  "tests",
  "withinLimits",
  "outsideLimits",
  "incomplete",
  "noTestPossible",
  "leftOutsideLimits",
  "severalReasons",
  "late",
] as const;
export type RowFigure = (typeof rowFigures)[number];

/** One number of a summary: which row, and which figure in it. */
export interface FigureAddress {
  readonly dimension: SummaryDimension;
  readonly key: string;
  /**
   * A row's figure ("tests"), "setAside/amended", "untestable/dead", or one of a measure: "asFound/fullLoad/creeping",
   * "asFound/average/outsideLimits".
   */
  readonly figure: string;
}

/** Where a record of a test is counted. The summary and the list behind a number both ask here. */
export interface TestCounter {
  readonly classes: readonly ReportClass[];
  readonly passes: readonly SummaryPass[];
  /** Names of the figures of a row, by place. */
  readonly figures: readonly string[];
  /** Places of the figures that a counted test adds one to. */
  figuresOf(test: CountedTest): number[];
  /** Rows that a counted test belongs to, of one dimension. */
  keysOf(test: CountedTest, dimension: SummaryDimension): readonly string[];
  /** Whether a record of a test is one of those that a number counts. */
  isBehind(test: CountedTest, address: FigureAddress): boolean;
}

/** @throws RangeError, from its functions, if a test is of a type that the terms do not know */
export function testCounter({ bands, phasesOfType, lateSince }: CountingTerms): TestCounter {
  const classes = classesOf(bands);
  const classAt = classFinder(bands);
  const passes: readonly SummaryPass[] = bands.asFoundOnly === true ? ["asFound"] : ["asFound", "asLeft"];
  const figures = [
    ...rowFigures,
    ...passes.flatMap((pass) =>
      measures.flatMap((measure) => [
        `${pass}/${measure}/outsideLimits`,
        ...classes.map(({ key }) => `${pass}/${measure}/${key}`),
      ]),
    ),
  ];
  const perMeasure = 1 + classes.length;
  const wholes = [""];
  const periods = new Map<string, string>();

  const periodOf = ({ previousOn, performedOn }: CountedTest) => {
    const dates = `${previousOn}${performedOn}`;
    const known = periods.get(dates);
    if (known !== undefined) return known;
    const period = testPeriodOf(previousOn, performedOn);
    if (periods.size < 100_000) periods.set(dates, period);
    return period;
  };

  const counter: TestCounter = {
    classes,
    passes,
    figures,
    figuresOf(test) {
      const found = [0, verdictPlace(test.asFound)];
      if (test.asLeft?.verdict === "fail") found.push(5);
      if (test.reasons.length > 1) found.push(6);
      if (lateSince !== null && test.recordedAt > lateSince) found.push(7);
      let at: number = rowFigures.length;
      for (const passName of passes) {
        const pass = test[passName];
        for (const measure of measures) {
          if (pass?.outside.includes(measure) === true) found.push(at);
          found.push(at + 1 + classAt(test, pass, measure));
          at += perMeasure;
        }
      }
      return found;
    },
    keysOf(test, dimension) {
      switch (dimension) {
        case "all":
          return wholes;
        case "type":
          return [test.typeId];
        case "reason":
          return test.reasons;
        case "phase":
          return [phaseOf(phasesOfType, test.typeId)];
        case "test-period":
          return [periodOf(test)];
        case "type-and-test-period":
          return [`${test.typeId} ${periodOf(test)}`];
        case "standard":
          return test.standardId === null ? [] : [test.standardId];
      }
    },
    isBehind(test, { dimension, key, figure }) {
      const [kind, which] = figure.split("/");
      if (kind === "setAside") return test.state === which;
      if (test.state !== "counted" || !counter.keysOf(test, dimension).includes(key)) return false;
      if (kind === "untestable") return test.untestableReason === which;
      const place = figures.indexOf(figure);
      return place !== -1 && counter.figuresOf(test).includes(place);
    },
  };
  return counter;
}

function verdictPlace(asFound: ReportedPass | null): number {
  if (asFound === null) return 4;
  return asFound.verdict === "pass" ? 1 : asFound.verdict === "fail" ? 2 : 3;
}

function phaseOf(phasesOfType: ReadonlyMap<string, number>, typeId: string): string {
  const phases = phasesOfType.get(typeId);
  if (phases === undefined) throw new RangeError(`the phases of type ${typeId} were not given`);
  return phases === 1 ? "single-phase" : "polyphase";
}
