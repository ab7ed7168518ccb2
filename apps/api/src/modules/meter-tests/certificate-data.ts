import {
  type MeterTest,
  signatureMeaningNames,
  type UntestableReason,
  untestableReasonNames,
} from "@sealbook/contract/meter-tests";
import { verdictNames } from "@sealbook/contract/meters";
import { circuitNames, occasionNames } from "@sealbook/contract/test-plans";
import { testReasonNames } from "@sealbook/contract/work-items";
import { occasionOf } from "@sealbook/metrology/accuracy/occasion-of";
import type {
  AverageEvaluation,
  DemandEvaluation,
  PassEvaluation,
  PointEvaluation,
  RunEvaluation,
} from "@sealbook/metrology/accuracy/pass-evaluation";
import type { DecisionRule, PassEntry, RunEntry } from "@sealbook/metrology/accuracy/test-terms";
import { Fraction } from "@sealbook/metrology/fraction";
import { localMinute } from "../../platform/local-date.ts";
import { printedPercent } from "./printed-percent.ts";

/** A line of a list of particulars. */
export type Particular = readonly [label: string, value: string];

interface ResultRow {
  label: string;
  load: string;
  powerFactor: string;
  runs: string;
  registration: string;
  error: string;
  uncertainty: string;
  limits: string;
  verdict: string;
  failed: boolean;
}

interface DemandRow {
  label: string;
  indicated: string;
  reference: string;
  /** Full scale in kW, or the load in percent of test amperes. */
  scale: string;
  error: string;
  limits: string;
  verdict: string;
  failed: boolean;
}

interface DemandOnCertificate {
  scaleHeading: string;
  errorHeading: string;
  formula: string | null;
  rows: DemandRow[];
}

interface PassOnCertificate {
  title: string;
  rows: ResultRow[];
  spreads: string[];
  averageFormula: string | null;
  /** Limits' sources by the mark beside the limits. */
  sources: { mark: string; source: string }[];
  creep: string;
  /** Null where the plan does not ask for it. */
  startingLoad: string | null;
  /** Null where the plan does not ask for it, or no reading was taken. */
  demand: DemandOnCertificate | null;
  entries: { label: string; run: string; entered: string; uncorrected: string; registration: string }[];
  corrections: { label: string; reason: string }[];
}

/** Everything on a certificate, as text: the template lays it out and computes nothing. */
export interface CertificateData {
  shopName: string;
  number: string;
  /** Date of the document: that of the record. */
  date: { year: number; month: number; day: number };
  supersededBy: string | null;
  supersedes: { id: string; reason: string } | null;
  verdicts: { label: string; verdict: string; failed: boolean; grounds: string[] }[];
  meter: Particular[];
  test: Particular[];
  standard: Particular[];
  work: Particular[];
  passes: PassOnCertificate[];
  decisionRule: string | null;
  statements: string[];
  signatures: { name: string; meaning: string; signedAt: string; recordHash: string }[];
  testId: string;
  entryId: string;
  entryHash: string;
}

/**
 * What the certificate of a test says.
 *
 * @param test      the test whole
 * @param shop      name, and time zone in which times are printed
 */
export function certificateData(test: MeterTest, shop: { name: string; timeZone: string }): CertificateData {
  const at = (instant: string) => `${localMinute(new Date(instant), shop.timeZone)} (${shop.timeZone})`;
  const recordedAt = new Date(test.recordedAt);
  return {
    shopName: shop.name,
    number: shortNumber(test.id),
    date: {
      year: recordedAt.getUTCFullYear(),
      month: recordedAt.getUTCMonth() + 1,
      day: recordedAt.getUTCDate(),
    },
    supersededBy: test.supersededById,
    supersedes:
      test.supersedesId === null ? null : { id: test.supersedesId, reason: test.amendmentReason ?? "" },
    verdicts: verdictsOf(test),
    meter: meterParticulars(test),
    test: testParticulars(test, at),
    standard: standardParticulars(test),
    work: workParticulars(test),
    passes: passesOf(test),
    decisionRule: decisionRuleOf(test),
    statements: statementsOf(test),
    signatures: test.signatures.map((signature) => ({
      name: signature.person.name,
      meaning: signatureMeaningNames[signature.meaning],
      signedAt: at(signature.signedAt),
      recordHash: signature.recordHash,
    })),
    testId: test.id,
    entryId: test.entryId,
    entryHash: test.entryHash,
  };
}

/** Short number of a test for people: the last twelve digits of its id, in fours. */
export function shortNumber(id: string): string {
  return id.slice(-12).toUpperCase().match(/.{4}/g)?.join("-") ?? id;
}

function verdictsOf({ outcome, evaluation }: MeterTest): CertificateData["verdicts"] {
  if (outcome.kind !== "tested") return [];
  const asLeftLabel = outcome.asLeft.kind === "same" ? "As left (as found, nothing adjusted)" : "As left";
  return [
    ...verdictOf("As found", evaluation.asFound),
    ...verdictOf(asLeftLabel, evaluation.asLeft),
    ...(outcome.asLeft.kind === "not-tested"
      ? [{ label: "As left", verdict: "Not tested", failed: false, grounds: [outcome.asLeft.why] }]
      : []),
  ];
}

function verdictOf(label: string, evaluation: PassEvaluation | null): CertificateData["verdicts"] {
  if (evaluation === null) return [];
  return [
    {
      label,
      verdict: verdictNames[evaluation.verdict],
      failed: evaluation.verdict !== "pass",
      grounds: evaluation.verdict === "pass" ? [] : evaluation.reasons.map(({ reason }) => reason),
    },
  ];
}

function meterParticulars({ meter, place }: MeterTest): Particular[] {
  return [
    ["Utility number", meter.utilityNumber],
    ["Maker's serial", meter.serial],
    ["Maker and model", `${meter.maker} ${meter.model}`],
    ["Form", meter.form],
    ["Watthour constant Kh", `${meter.kh} Wh`],
    ...(meter.kt === null ? [] : [["Test constant Kt", `${meter.kt} Wh`] as const]),
    ["Test amperes", `${meter.testAmperes} A`],
    ["Nominal voltage", `${meter.designVolts} V`],
    ["Accuracy class", meter.accuracyClass],
    ["Place", place],
  ];
}

function testParticulars(test: MeterTest, at: (instant: string) => string): Particular[] {
  const { volts, amperes, temperatureCelsius } = test.conditions;
  const conditions = [
    ...(volts === null ? [] : [`${volts} V`]),
    ...(amperes === null ? [] : [`${amperes} A`]),
    ...(temperatureCelsius === null ? [] : [`${temperatureCelsius} °C`]),
  ];
  return [
    ["Performed", at(test.performedAt)],
    ["Recorded", at(test.recordedAt)],
    ["Performed by", test.tester?.name ?? ""],
    ...(test.recordedBy === null || test.recordedBy.id === test.tester?.id
      ? []
      : [["Recorded by", test.recordedBy.name] as const]),
    ["Reason", test.reasons.map((reason) => testReasonNames[reason]).join(", ")],
    ["Test plan", `${test.plan.code}, revision ${test.plan.revision}: ${test.plan.name}`],
    ["Rules", `${test.profile.title}, version ${test.profile.version}`],
    ["Limits as found for", occasionNames[occasionOf(test.reasons)]],
    ["Conditions measured", conditions.length === 0 ? "none recorded" : conditions.join(", ")],
    ...test.preconditionsConfirmed.map((text) => ["Confirmed", text] as const),
  ];
}

function standardParticulars({ standardInUse, calibration, errorAppliedByBench }: MeterTest): Particular[] {
  if (standardInUse === null || calibration === null) return [];
  return [
    ["Standard", `${standardInUse.designation} (${standardInUse.rank} standard)`],
    ["Maker and model", `${standardInUse.maker} ${standardInUse.model}`],
    ["Serial", standardInUse.serial],
    ["Calibration certificate", calibration.certificateNumber],
    ["Laboratory", calibration.laboratory],
    ["Calibrated", `${calibration.calibratedOn}, by ${calibration.performedBy}`],
    ["Due", calibration.dueOn],
    ["Traceability", calibration.traceability],
    ...(calibration.againstStandard === null
      ? []
      : [["Calibrated against", calibration.againstStandard.designation] as const]),
    ["Standard's certified error", errorAppliedByBench ? "applied by the bench" : "applied here, by point"],
  ];
}

function workParticulars(test: MeterTest): Particular[] {
  const { outcome } = test;
  const some = (label: string, value: string | null): Particular[] =>
    value === null || value === "" ? [] : [[label, value]];
  return [
    ...(outcome.kind === "no-test-possible"
      ? some("No test possible", untestable(outcome.reason, outcome.note))
      : []),
    ...(outcome.kind === "tested" && outcome.asLeft.kind === "entered"
      ? some("Adjustment or repair", outcome.asLeft.adjustment)
      : []),
    ...some("Register reading before", test.readingBefore),
    ...some("Register reading after", test.readingAfter),
    ...some("Seals removed", test.sealsRemoved.join(", ")),
    ...some("Seals applied", test.sealsApplied.join(", ")),
    ...some("Attachments", test.files.map((file) => `${file.name} (SHA-256 ${file.sha256})`).join("\n")),
    ...some("Remarks", test.remarks),
    ...(test.source === null
      ? []
      : some("Entered from", `${test.source.fileName}, record ${test.source.rowNumber}`)),
  ];
}

function untestable(reason: UntestableReason, note: string): string {
  return note === "" ? untestableReasonNames[reason] : `${untestableReasonNames[reason]}. ${note}`;
}

function passesOf(test: MeterTest): PassOnCertificate[] {
  const { outcome, evaluation } = test;
  if (outcome.kind !== "tested") return [];
  const passes: PassOnCertificate[] = [];
  if (evaluation.asFound !== null) {
    passes.push(passOnCertificate("Results as found", test, evaluation.asFound, outcome.asFound));
  }
  if (evaluation.asLeft !== null && outcome.asLeft.kind !== "not-tested") {
    const same = outcome.asLeft.kind === "same";
    const entry = outcome.asLeft.kind === "same" ? outcome.asFound : outcome.asLeft.pass;
    const title = same ? "Results as left (as found, nothing adjusted)" : "Results as left";
    const pass = passOnCertificate(title, test, evaluation.asLeft, entry);
    passes.push(same ? { ...pass, entries: [], corrections: [] } : pass);
  }
  return passes;
}

function passOnCertificate(
  title: string,
  test: MeterTest,
  evaluation: PassEvaluation,
  entry: PassEntry,
): PassOnCertificate {
  const marks = new Map<string, string>();
  const average = evaluation.average;
  const rows = evaluation.points.map((point) => pointRow(point, test, marks));
  if (average !== null) rows.push(averageRow(average, marks));
  const demand = demandOnCertificate(evaluation.demand ?? [], marks);
  return {
    title,
    rows,
    spreads: evaluation.points.flatMap(spreadOf),
    averageFormula: average === null ? null : averageFormula(average),
    sources: [...marks].map(([source, mark]) => ({ mark, source })),
    creep: evaluation.creep.reason,
    startingLoad: evaluation.startingLoad?.reason ?? null,
    demand,
    entries: evaluation.points.flatMap((point) => entriesOf(point, entry)),
    corrections: evaluation.points
      .filter((point) => point.runsEvaluated > 0)
      .map((point) => ({ label: point.pointKey, reason: point.correction.reason })),
  };
}

function pointRow(point: PointEvaluation, test: MeterTest, marks: Map<string, string>): ResultRow {
  const planned = test.plan.body.points.find(({ key }) => key === point.pointKey);
  const sense =
    planned === undefined || planned.powerFactorSense === "unity" ? "" : ` ${planned.powerFactorSense}`;
  const circuits =
    planned === undefined || planned.circuits === "series" ? "" : `, ${circuitNames[planned.circuits]}`;
  const direction = planned?.direction === "received" ? ", received" : "";
  const quantity = planned === undefined || planned.quantity === "Wh" ? "" : `, ${planned.quantity}`;
  return {
    label: `${point.label}${circuits}${direction}${quantity}`,
    load: planned === undefined ? "" : `${planned.loadPercent} % TA`,
    powerFactor: planned === undefined ? "" : `${planned.powerFactor}${sense}`,
    runs: runsOf(point),
    ...figures(point.meanPercent, point, marks),
  };
}

function runsOf(point: PointEvaluation): string {
  return point.runsEvaluated === point.runsAsked
    ? `${point.runsEvaluated}`
    : `${point.runsEvaluated} of ${point.runsAsked}`;
}

function demandOnCertificate(
  readings: readonly DemandEvaluation[],
  marks: Map<string, string>,
): DemandOnCertificate | null {
  const [first] = readings;
  if (first === undefined) return null;
  const isOfFullScale = first.basis === "full-scale";
  const trace = readings.find(({ howComputed }) => howComputed !== null)?.howComputed ?? null;
  return {
    scaleHeading: isOfFullScale ? "Full scale, kW" : "Load, % TA",
    errorHeading: isOfFullScale ? "Error, % of full scale" : "Error, % of reading",
    formula: trace === null ? null : `${trace.formula} (${trace.source})`,
    rows: readings.map((reading, index) => demandRow(reading, index, marks)),
  };
}

function demandRow(evaluated: DemandEvaluation, index: number, marks: Map<string, string>): DemandRow {
  const { reading, basis, errorPercent, limits, verdict } = evaluated;
  const near = limits === null ? [] : [limits.maxErrorPercent, `-${limits.maxErrorPercent}`];
  const error = errorPercent === null ? null : printedPercent(errorPercent, near);
  return {
    label: `Reading ${index + 1}`,
    indicated: reading.indicatedKw,
    reference: reading.referenceKw,
    scale: (basis === "full-scale" ? reading.fullScaleKw : reading.loadPercent) ?? "–",
    error: error === null ? "–" : signed(Fraction.of(error), error),
    limits:
      limits === null
        ? "none"
        : `±${limits.maxErrorPercent}, from ${limits.fromPercent} % to ${limits.toPercent} % ${markOf(limits.source, marks)}`,
    verdict: verdictWords[verdict],
    failed: verdict === "fail",
  };
}

/** How the runs of a point scatter, for points with two runs or more. */
function spreadOf(point: PointEvaluation): string[] {
  const { sampleStandardDeviationPercent: deviation, rangePercent: range } = point;
  if (deviation === null || range === null) return [];
  return [
    `${point.label}: mean of ${point.runsEvaluated} runs, sample standard deviation ${printedPercent(deviation, [])} %, range ${printedPercent(range, [])} %.`,
  ];
}

function averageRow(average: AverageEvaluation, marks: Map<string, string>): ResultRow {
  return {
    label: `Average, ${average.averageRule.label}`,
    load: "",
    powerFactor: "",
    runs: "",
    ...figures(average.registrationPercent, average, marks),
  };
}

function figures(
  percent: string | null,
  judged: Pick<PointEvaluation, "limits" | "verdict" | "expandedUncertaintyPercent">,
  marks: Map<string, string>,
): Omit<ResultRow, "label" | "load" | "powerFactor" | "runs"> {
  const { limits } = judged;
  const near = limits === null ? [] : [limits.minPercent, limits.maxPercent];
  const registration = percent === null ? null : printedPercent(percent, near);
  return {
    registration: registration ?? "–",
    error: registration === null ? "–" : signed(Fraction.of(registration).minus("100"), registration),
    uncertainty:
      judged.expandedUncertaintyPercent === null
        ? "–"
        : printedPercent(judged.expandedUncertaintyPercent, []),
    limits:
      limits === null
        ? "none"
        : `${limits.minPercent} to ${limits.maxPercent} ${markOf(limits.source, marks)}`,
    verdict: verdictWords[judged.verdict],
    failed: judged.verdict === "fail",
  };
}

/** The error to as many places as its registration is printed with. */
function signed(error: Fraction, registration: string): string {
  const text = error.toFixed(registration.length - registration.indexOf(".") - 1);
  return error.isPositive() ? `+${text}` : text.replace("-", "\u2212");
}

const verdictWords: Record<PointEvaluation["verdict"], string> = {
  pass: "within",
  fail: "outside",
  undecided: "undecided",
  "not-judged": "not judged",
};

function markOf(source: string, marks: Map<string, string>): string {
  const known = marks.get(source) ?? `[${marks.size + 1}]`;
  marks.set(source, known);
  return known;
}

function averageFormula({ howComputed, reason }: AverageEvaluation): string {
  if (howComputed === null) return reason;
  const inputs = howComputed.inputs.map(({ symbol, value, unit }) => `${symbol} = ${value} ${unit}`);
  const { symbol, value, unit } = howComputed.result;
  return `${howComputed.formula}; ${inputs.join(", ")}; ${symbol} = ${value} ${unit} (${howComputed.source})`;
}

function entriesOf(point: PointEvaluation, entry: PassEntry): PassOnCertificate["entries"] {
  const runs = entry.points.find(({ pointKey }) => pointKey === point.pointKey)?.runs ?? [];
  return runs.flatMap((run, index) => {
    const evaluated = point.runs[index];
    return [
      {
        label: point.pointKey,
        run: String(index + 1),
        entered: enteredWords(run, evaluated),
        uncorrected: evaluated?.state === "evaluated" ? evaluated.uncorrectedPercent : "–",
        registration: evaluated?.state === "evaluated" ? evaluated.registrationPercent : "–",
      },
    ];
  });
}

/** What was entered, with the constants that it was taken with. */
function enteredWords(run: RunEntry, evaluated: RunEvaluation | undefined): string {
  if (run.kind === "registration") return `R = ${run.registrationPercent} %`;
  const inputs =
    evaluated?.state === "evaluated" ? evaluated.howComputed.flatMap((trace) => trace.inputs) : [];
  const constants = inputs
    .filter(({ symbol }) => symbol === "K" || symbol === "m")
    .map(({ symbol, value }) => `, ${symbol} = ${value}`)
    .join("");
  return run.kind === "counts"
    ? `n = ${run.counts}${constants}, W = ${run.standardEnergy}`
    : `n = ${run.counts}${constants}, r = ${run.standardRevolutions}, Ks = ${run.standardConstant}`;
}

function decisionRuleOf({ evaluation }: MeterTest): string | null {
  const rule = evaluation.asFound?.average?.rule ?? evaluation.asFound?.points[0]?.rule;
  return rule === undefined ? null : `${decisionWords(rule)} Source: ${rule.source}.`;
}

function decisionWords(rule: DecisionRule): string {
  switch (rule.kind) {
    case "simple":
      return "Simple acceptance: a value on or within its limits is within, whatever the uncertainty.";
    case "guard-band":
      return `Guard band: a value is within when it lies inside its limits by ${rule.uncertaintyMultiple} U or more.`;
    case "false-accept":
      return `A value is within when the probability that it is truly outside is at most ${rule.maxProbability}.`;
  }
}

function statementsOf(test: MeterTest): string[] {
  return [
    ...(test.outcome.kind === "tested"
      ? [
          "Figures in the table of results are rounded for print, half away from zero; verdicts are made on the unrounded figures under “Runs as entered”.",
          "R = 100 n K / (m W): n counts, K the constant Kh or Kt of the plan's point, m how often the circuits driven see the standard's energy, W the standard's energy in Wh (VARh, VAh); with a rotating standard W = r Ks. E = R − 100.",
          "U is the expanded uncertainty of the standard at the point, k = 2, from its certificate. It leaves out the meter's own resolution, repeatability and the setting of the load.",
        ]
      : []),
    "The shop states the results of the points listed, of this meter, at the time of the test. It does not state the meter's accuracy at other loads, after transport, or in later service.",
    `Verify against the current text of the rules; local rules govern. ${test.profile.citations
      .map(({ title, dateRead }) => `${title} (read ${dateRead})`)
      .join("; ")}.`,
  ];
}
