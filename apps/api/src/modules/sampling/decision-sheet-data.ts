import { type correctiveActionKinds, correctiveActionNames } from "@sealbook/contract/corrective-actions";
import { type DrawUnit, unitStateNames } from "@sealbook/contract/follow-up";
import { lotKindNames, lotOutcomeNames } from "@sealbook/contract/lot-terms";
import { type Decision, type Lot, seedSourceNames } from "@sealbook/contract/sampling";
import { Decimal } from "@sealbook/metrology/decimal";
import { Fraction } from "@sealbook/metrology/fraction";
import { readablePercent } from "@sealbook/metrology/judgement/readable-percent";
import type {
  CharacteristicEvaluation,
  CharacteristicReading,
} from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import type { CharacteristicPlan } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import {
  absenceReasonNames,
  samplingCharacteristicNames,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { localMinute } from "../../platform/local-date.ts";
import { histogramSvg, normalPlotSvg } from "./sample-charts.ts";

type Particular = readonly [label: string, value: string];

/** What the decision sheet of a lot says: words and figures ready to be set. */
export interface DecisionSheetData {
  shopName: string;
  number: string;
  date: { year: number; month: number; day: number };
  title: string;
  kind: string;
  outcome: string;
  accepted: boolean;
  sentence: string;
  reason: string;
  lot: Particular[];
  decided: Particular[];
  plans: { title: string; particulars: Particular[]; notes: string[] }[];
  draws: { title: string; particulars: Particular[] }[];
  characteristics: {
    title: string;
    figures: Particular[];
    criteria: { text: string; value: string; relation: string; bound: string; holds: string }[];
    sentence: string;
    cautions: string[];
    histogram: string | null;
    normalPlot: string | null;
    chartText: string;
  }[];
  /** Places, meters and readings, some side by side, in reading order. */
  readings: { headings: string[]; sideBySide: number; rows: string[][] };
  followUp: { meter: string; state: string; events: string }[];
  furtherTests: string[];
  amended: string[];
  approval: { name: string; signedAt: string; note: string; recordHash: string } | null;
  actions: { kind: string; detail: string; owner: string; dueOn: string; done: string }[];
  entries: { what: string; id: string }[];
  decisionEntryId: string;
  recordHash: string;
  engineVersion: string;
}

const comparisons = { "at-most": "at most", "at-least": "at least" } as const;

/**
 * What the decision sheet of a decided lot says.
 *
 * @param lot       the lot, whole
 * @param decision  its decision
 * @param units     its sample and spares
 * @param shop      name, and time zone in which times are printed
 */
export function decisionSheetData(
  lot: Lot,
  decision: Decision,
  units: readonly DrawUnit[],
  shop: { name: string; timeZone: string },
): DecisionSheetData {
  const at = (instant: string) => `${localMinute(new Date(instant), shop.timeZone)} (${shop.timeZone})`;
  const decidedAt = new Date(decision.decidedAt);
  const { evaluation } = decision;
  return {
    shopName: shop.name,
    number: lot.number,
    date: {
      year: decidedAt.getUTCFullYear(),
      month: decidedAt.getUTCMonth() + 1,
      day: decidedAt.getUTCDate(),
    },
    title: lot.title,
    kind: lotKindNames[lot.kind],
    outcome: lotOutcomeNames[decision.outcome],
    accepted: decision.outcome !== "not-accepted",
    sentence: decision.byPerson
      ? `${evaluation.sentence} ${decision.decidedBy?.name ?? "The service"} decided: ${lotOutcomeNames[decision.outcome].toLowerCase()}.`
      : evaluation.sentence,
    reason: decision.reason,
    lot: lotParticulars(lot),
    decided: [
      ["Decided", at(decision.decidedAt)],
      ["By", decision.decidedBy?.name ?? "The service"],
      ["Production steady", decision.steady ? "Yes" : "No"],
      ["Reduced inspection approved", decision.reducedApproved ? "Yes" : "No"],
    ],
    plans: lot.plan?.characteristics.map(planOf) ?? [],
    draws: lot.lists.map((list) => ({
      title: lot.lists.length === 1 ? "List and draw" : `List ${list.ordinal} and its draw`,
      particulars: [
        ["List", `${list.candidates} candidates by utility number, published ${at(list.listedAt)}`],
        ["Hash of the list", list.listHash],
        [
          "Seed",
          `${seedSourceNames[list.seed.source]}${list.seed.announcement === null ? "" : `: ${list.seed.announcement}`}${list.seed.notBefore === null ? "" : `, not before ${at(list.seed.notBefore)}`}`,
        ],
        ...(list.repeatReason === null
          ? []
          : [["Repeats the list before because", list.repeatReason] as const]),
        ...(list.draw === null
          ? [["Draw", "Not drawn from"] as const]
          : ([
              ["Drawn", `${at(list.draw.drawnAt)} by ${list.draw.drawnBy?.name ?? "the service"}`],
              ["Seed as used", list.draw.seed],
              ["Algorithm", `${list.draw.algorithm}; anybody can repeat it from the list and the seed`],
              ["Key", list.draw.key],
              ["Drawn in order", `${list.n} for the sample, then ${list.spares} spares`],
            ] as const)),
      ],
    })),
    characteristics: evaluation.characteristics.map(characteristicOf),
    readings: readingsOf(evaluation.characteristics),
    followUp: units
      .filter(({ spare, place, events, state }) =>
        spare
          ? place !== null || events.length > 0
          : state === "replaced" || state === "left-out" || events.some(({ reason }) => reason !== null),
      )
      .map((unit) => ({
        meter: unit.utilityNumber,
        state:
          unit.place === null
            ? unitStateNames[unit.state]
            : `${unitStateNames[unit.state]}, place ${unit.place}`,
        events: unit.events
          .map(
            ({ kind, reason, note, at: when, takenBack }) =>
              `${at(when)}: ${kind === "called-up" ? "called up as a spare" : kind}${reason === null ? "" : ` (${absenceReasonNames[reason].toLowerCase()})`}${note === "" ? "" : `, ${note}`}${takenBack === null ? "" : `; taken back ${at(takenBack.at)} by ${takenBack.by?.name ?? "the service"}: ${takenBack.reason}`}`,
          )
          .join("\n"),
      })),
    furtherTests: decision.tests
      .filter(({ counted }) => !counted)
      .map(
        ({ utilityNumber, performedAt, testId }) =>
          `Meter ${utilityNumber} was tested again ${at(performedAt)}; that test (${testId}) is not counted.`,
      ),
    amended: decision.tests
      .filter(({ supersededById }) => supersededById !== null)
      .map(
        ({ utilityNumber, supersededById }) =>
          `The test of meter ${utilityNumber} was amended after the decision, by test ${supersededById}.`,
      ),
    approval:
      decision.approval === null
        ? null
        : {
            name: decision.approval.person.name,
            signedAt: at(decision.approval.signedAt),
            note: decision.approval.note,
            recordHash: decision.approval.recordHash,
          },
    actions: lot.actions.map((action) => ({
      kind: correctiveActionNames[action.kind satisfies (typeof correctiveActionKinds)[number]],
      detail: action.detail,
      owner: action.owner.name,
      dueOn: action.dueOn,
      done:
        action.doneOn === null
          ? "Open"
          : `Done ${action.doneOn}${action.doneNote === "" ? "" : `: ${action.doneNote}`}`,
    })),
    entries: entriesOf(lot, decision),
    decisionEntryId: decision.entryId,
    recordHash: decision.recordHash,
    engineVersion: evaluation.engineVersion,
  };
}

function lotParticulars(lot: Lot): Particular[] {
  return [
    ["Lot", `${lot.number}, ${lot.counts.members} meters`],
    ["Meters", lot.title],
    ...(lot.kind === "shipment"
      ? ([
          ["Contract", lot.contract],
          ...(lot.purchaseOrder === "" ? [] : [["Purchase order", lot.purchaseOrder] as const]),
          ["Received", lot.receivedOn ?? ""],
        ] as const)
      : ([["Year", String(lot.year)]] as const)),
    ["Scheme", `${lot.scheme.code}, revision ${lot.scheme.revision}: ${lot.scheme.name}`],
    ["Source", lot.schemeBody.source],
    [
      "Untestable meters",
      `${lot.schemeBody.untestable.counts === "left-out" ? "are left out" : "count as nonconforming"}. ${lot.schemeBody.untestable.reason}`,
    ],
    ...(lot.resubmitsId === null
      ? []
      : ([["Resubmitted", "After screening; not original inspection"]] as const)),
    ...(lot.secondTryOfId === null ? [] : ([["Second try", lot.note]] as const)),
  ];
}

function planOf({
  characteristic,
  severity,
  reasons,
  aqlPercent,
  plan,
  notes,
  protection,
}: CharacteristicPlan): DecisionSheetData["plans"][number] {
  return {
    title: samplingCharacteristicNames[characteristic],
    particulars: [
      ["Inspection", `${severity}. ${reasons.join(" ")}`],
      ["Plan", planWords(plan)],
      ...(aqlPercent === null ? [] : [["AQL", `${aqlPercent} %`] as const]),
      ...(protection === null ? [] : [["What it protects", protection.sentence] as const]),
    ],
    notes,
  };
}

function planWords(plan: CharacteristicPlan["plan"]): string {
  switch (plan.kind) {
    case "attributes":
      return `${plan.edition}, letter ${plan.letter}${plan.planLetter === plan.letter ? "" : ` (plan of letter ${plan.planLetter})`}: n = ${plan.n}, Ac = ${plan.ac}, Re = ${plan.re}`;
    case "variables":
      return `${plan.edition}, letter ${plan.letter}, standard deviation method, variability unknown: n = ${plan.n}, M = ${plan.maximumPercent} %`;
    case "plan-table":
      return `${plan.table}: n = ${plan.n}, Ac = ${plan.ac}, Re = ${plan.re} (${plan.source})`;
    case "whole-lot":
      return `Every meter of the lot: n = ${plan.n}, none may be nonconforming`;
  }
}

function characteristicOf(evaluated: CharacteristicEvaluation): DecisionSheetData["characteristics"][number] {
  const { limits, estimate, normality, outlier, fraction, lot } = evaluated;
  const both = limits === null ? [] : [limits.minPercent, limits.maxPercent];
  const values = evaluated.readings.flatMap(({ value }) => (value === null ? [] : [Number(value)]));
  const sample =
    limits === null || values.length === 0 || evaluated.mean === null
      ? null
      : {
          values,
          lower: Number(limits.minPercent),
          upper: Number(limits.maxPercent),
          mean: evaluated.mean,
          s: evaluated.s,
        };
  const figures: Particular[] = [
    ...(limits === null
      ? []
      : ([["Limits", `${limits.minPercent} to ${limits.maxPercent} % (${limits.source})`]] as const)),
    ["Results that count", `${evaluated.counted} of ${evaluated.places}, ${evaluated.leftOut} left out`],
    ["Nonconforming", `${evaluated.nonconforming}, ${evaluated.untestable} of them untestable`],
    ...(evaluated.mean === null ? [] : ([["Mean", `${figure(evaluated.mean, 5)} %`]] as const)),
    ...(evaluated.s === null ? [] : ([["Standard deviation s", `${figure(evaluated.s, 5)} %`]] as const)),
    ...(evaluated.least === null
      ? []
      : ([
          [
            "Least and greatest",
            `${printed(evaluated.least, both)} and ${printed(evaluated.greatest ?? evaluated.least, both)} %`,
          ],
        ] as const)),
    ...(estimate === null
      ? []
      : ([
          ...(estimate.qLower === null ? [] : [["Q lower", figure(estimate.qLower, 4)] as const]),
          ...(estimate.qUpper === null ? [] : [["Q upper", figure(estimate.qUpper, 4)] as const]),
          [
            "Estimated nonconforming",
            `${figure(estimate.pLower, 4)} % below, ${figure(estimate.pUpper, 4)} % above, ${figure(estimate.p, 4)} % together`,
          ],
        ] as const)),
    ...(fraction === null
      ? []
      : ([
          [
            "Counted nonconforming",
            `${figure(100 * fraction.fraction, 3)} %, exact 95 % limits ${figure(100 * fraction.lower, 3)} to ${figure(100 * fraction.upper, 3)} %${lot === null ? "" : `; of the lot ${lot.lower} to ${lot.upper} meters`}`,
          ],
        ] as const)),
    ...(normality === null
      ? []
      : ([
          [
            "Normality",
            `Anderson-Darling ${figure(normality.statistic, 4)}, p = ${figure(normality.pValue, 4)}`,
          ],
        ] as const)),
    ...(outlier === null
      ? []
      : ([
          [
            "Farthest reading",
            `place ${outlier.place}, ${printed(outlier.value, both)} %: Grubbs ${figure(outlier.statistic, 3)}, critical ${figure(outlier.criticalValue, 3)}${outlier.exceeds ? ", exceeded" : ""}`,
          ],
        ] as const)),
  ];
  return {
    title: samplingCharacteristicNames[evaluated.characteristic],
    figures,
    criteria: evaluated.criteria.map(({ text, value, comparison, bound, holds }) => ({
      text,
      value: Number.isInteger(value) ? String(value) : printed(value, [bound]),
      relation: comparisons[comparison],
      bound: String(bound),
      holds: holds ? "Holds" : "Does not hold",
    })),
    sentence: evaluated.sentence,
    cautions: evaluated.cautions,
    histogram: sample === null ? null : histogramSvg(sample),
    normalPlot: sample === null ? null : normalPlotSvg(sample),
    chartText:
      sample === null
        ? ""
        : `Registration of ${values.length} meters in percent, limits ${limits?.minPercent} and ${limits?.maxPercent} dashed. Least ${printed(evaluated.least ?? "0", both)}, greatest ${printed(evaluated.greatest ?? "0", both)}.`,
  };
}

const results = {
  "left-out": "left out",
  "not-measured": "not measured",
  untestable: "no test possible",
  waiting: "waiting",
} as const;

/** One cell group a place: place, meter, then each characteristic's reading; an asterisk marks the nonconforming. */
function readingsOf(characteristics: readonly CharacteristicEvaluation[]): DecisionSheetData["readings"] {
  const longest = characteristics.reduce((most, { readings }) => Math.max(most, readings.length), 0);
  const groups = Array.from({ length: longest }, (_, index) => {
    const cells = characteristics.map(({ readings, limits }) => {
      const reading = readings[index];
      return reading === undefined ? "" : cellOf(reading, limits);
    });
    const meter = characteristics.flatMap(({ readings }) => readings[index]?.meter ?? [])[0] ?? "";
    return [String(index + 1), meter, ...cells];
  });
  const sideBySide = characteristics.length === 1 ? 4 : characteristics.length === 2 ? 3 : 2;
  const headings = [
    "Place",
    "Meter",
    ...characteristics.map(({ characteristic }) => samplingCharacteristicNames[characteristic]),
  ];
  const empty = headings.map(() => "");
  const rows = Array.from({ length: Math.ceil(longest / sideBySide) }, (_, row) =>
    Array.from({ length: sideBySide }, (__, side) => groups[row * sideBySide + side] ?? empty).flat(),
  );
  return { headings, sideBySide, rows };
}

function cellOf(
  { result, value, conforming }: CharacteristicReading,
  limits: CharacteristicEvaluation["limits"],
): string {
  const word =
    result === "reading"
      ? printed(value ?? "0", limits === null ? [] : [limits.minPercent, limits.maxPercent])
      : result === "verdict"
        ? conforming
          ? "within"
          : "outside"
        : results[result];
  return conforming === false ? `${word} *` : word;
}

function entriesOf(lot: Lot, decision: Decision): DecisionSheetData["entries"] {
  return [
    ...(lot.planEntryId === null ? [] : [{ what: "Plan", id: lot.planEntryId }]),
    ...lot.lists.flatMap((list) => [
      { what: `List ${list.ordinal}`, id: list.entryId },
      ...(list.draw === null ? [] : [{ what: `Draw from list ${list.ordinal}`, id: list.draw.entryId }]),
    ]),
    { what: "Decision", id: decision.entryId },
    ...(decision.approval === null ? [] : [{ what: "Approval", id: decision.approval.entryId }]),
    ...lot.actions.map(({ entryId, kind }) => ({ what: correctiveActionNames[kind], id: entryId })),
  ];
}

/** A figure with some decimals, ties away from zero; the decision rests on the unrounded one. */
function figure(value: number, places: number): string {
  return new Decimal(value).toFixed(places);
}

/** A percent with three decimals, or as many more as it takes not to contradict the limits beside it. */
function printed(value: string | number, limits: readonly (string | number)[]): string {
  const [whole, places = ""] = readablePercent(
    Fraction.of(new Decimal(value)),
    limits.map((limit) => new Decimal(limit)),
  ).split(".");
  return `${whole}.${places.padEnd(3, "0")}`;
}
