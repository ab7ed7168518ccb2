import { dispositionNames, lotKindNames, lotOutcomeNames } from "@sealbook/contract/lot-terms";
import {
  measureNames,
  type ReportBody,
  summaryDimensionNames,
  summaryPassNames,
  summaryRowName,
  untestableName,
} from "@sealbook/contract/reports";
import { evaluationOutcomeNames } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";

/** A cell that says what it is, so that a spreadsheet gets a number where there is one. */
export type ReportCell =
  | { readonly kind: "text"; readonly text: string }
  | { readonly kind: "count"; readonly count: number }
  /** A decimal written out; null where there is none. */
  | { readonly kind: "decimal"; readonly decimal: string | null }
  | { readonly kind: "date"; readonly date: string | null };

/** One table of a report. CSV, spreadsheet and document are all made of these. */
export interface ReportTable {
  /** Short and unique: name of a sheet, key of a line in CSV. */
  readonly name: string;
  readonly title: string;
  readonly note: string;
  readonly headings: readonly string[];
  readonly rows: readonly (readonly ReportCell[])[];
  /** Whether it has so many columns that a page lies on its side for it. */
  readonly isWide: boolean;
}

const text = (value: string): ReportCell => ({ kind: "text", text: value });
const count = (value: number): ReportCell => ({ kind: "count", count: value });
const decimal = (value: string | null): ReportCell => ({ kind: "decimal", decimal: value });
const date = (value: string | null): ReportCell => ({ kind: "date", date: value });
const yes = (value: boolean): ReportCell => text(value ? "Yes" : "No");

/** Short names of the divisions' tables. */
const divisionNames = {
  all: "All tests",
  type: "Types",
  reason: "Reasons",
  phase: "Phases",
  "test-period": "Test periods",
  "type-and-test-period": "Types and periods",
  standard: "By standard",
} as const;

/** Every figure of a report as tables, in the order in which a document prints them. */
export function reportTables(body: ReportBody): ReportTable[] {
  return [
    ...body.summary.divisions.flatMap((division) => divisionTables(body, division)),
    untestableTable(body),
    lotTable(body),
    characteristicTable(body),
    rejectedTable(body),
    actionTable(body),
    standardTable(body),
    setAsideTable(body),
    ...(body.changes === null ? [] : [changeTable(body.changes)]),
  ];
}

function divisionTables(
  body: ReportBody,
  { dimension, rows }: ReportBody["summary"]["divisions"][number],
): ReportTable[] {
  const name = divisionNames[dimension];
  const rowName = (key: string) => text(summaryRowName(dimension, key, body));
  const title = summaryDimensionNames[dimension];
  return [
    {
      name,
      title,
      note: "",
      isWide: false,
      headings: [
        "Row",
        "Tests",
        "Within limits",
        "Outside limits",
        "Incomplete",
        "No test possible",
        "Left outside limits",
        "Several reasons",
        "Late entries",
      ],
      rows: rows.map((row) => [
        rowName(row.key),
        count(row.tests),
        count(row.withinLimits),
        count(row.outsideLimits),
        count(row.incomplete),
        count(row.noTestPossible),
        count(row.leftOutsideLimits),
        count(row.severalReasons),
        count(row.late),
      ]),
    },
    {
      name: `${name}, classes`,
      title: `${title}: accuracy classes`,
      note: `Percent registration ${body.summary.layout.asFoundOnly ? "as found" : "as found and as left"}, rounded to ${body.summary.layout.places === 1 ? "one decimal" : `${body.summary.layout.places} decimals`} half away from zero before it is counted. Outside limits is counted apart, unrounded.`,
      isWide: true,
      headings: ["Row", "Load", "Outside limits", ...body.summary.layout.classes.map(({ label }) => label)],
      rows: rows.flatMap((row) =>
        row.measures.map((measure) => [
          rowName(row.key),
          text(
            body.summary.layout.asFoundOnly
              ? measureNames[measure.measure]
              : `${measureNames[measure.measure]}, ${summaryPassNames[measure.pass]}`,
          ),
          count(measure.outsideLimits),
          ...measure.classes.map(count),
        ]),
      ),
    },
  ];
}

function untestableTable({ summary }: ReportBody): ReportTable {
  return {
    name: "Not counted",
    title: "No test possible, and records set aside",
    note: "A record that was amended is set aside for the version that was valid at the cutoff.",
    isWide: false,
    headings: ["What", "Records"],
    rows: [
      ...summary.untestable.map(({ reason, tests }) => [
        text(`No test possible: ${untestableName(reason).toLowerCase()}`),
        count(tests),
      ]),
      [text("Set aside: amended by a later record"), count(summary.setAside.amended)],
      [text("Set aside: withdrawn"), count(summary.setAside.withdrawn)],
    ],
  };
}

function lotTable({ lots }: ReportBody): ReportTable {
  return {
    name: "Lots",
    title: "Lots and groups decided",
    note: "",
    isWide: true,
    headings: [
      "Lot",
      "Kind",
      "Meters",
      "Maker",
      "Model",
      "Size",
      "Scheme",
      "Series",
      "Decided",
      "Approved",
      "Outcome",
      "What came of it",
    ],
    rows: lots.map((lot) => [
      text(lot.number),
      text(lotKindNames[lot.kind]),
      text(lot.title),
      text(lot.maker),
      text(lot.model),
      count(lot.size),
      text(lot.scheme),
      text(lot.series),
      date(lot.decidedOn),
      date(lot.approvedOn),
      text(lotOutcomeNames[lot.outcome]),
      text(dispositionName(lot.disposition)),
    ]),
  };
}

function characteristicTable({ lots }: ReportBody): ReportTable {
  return {
    name: "Lot results",
    title: "Lots and groups: plans and results",
    note: "Change is the difference to the lot before of the same series.",
    isWide: true,
    headings: [
      "Lot",
      "Judged on",
      "Inspection",
      "Plan",
      "n",
      "Counted",
      "Nonconforming",
      "Untestable",
      "Left out",
      "Mean, %",
      "s, %",
      "Nonconforming, %",
      "Lot before",
      "Change of mean",
      "Change of s",
      "Change of nonconforming",
      "Result",
    ],
    rows: lots.flatMap((lot) =>
      lot.characteristics.map((one) => [
        text(lot.number),
        text(samplingCharacteristicNames[one.characteristic]),
        text(one.severity),
        text(one.plan),
        count(one.n),
        count(one.counted),
        count(one.nonconforming),
        count(one.untestable),
        count(one.leftOut),
        decimal(one.mean),
        decimal(one.s),
        decimal(one.percentNonconforming),
        text(one.change?.since ?? ""),
        decimal(one.change?.mean ?? null),
        decimal(one.change?.s ?? null),
        decimal(one.change?.percentNonconforming ?? null),
        text(
          Object.entries(evaluationOutcomeNames).find(([outcome]) => outcome === one.outcome)?.[1] ??
            one.outcome,
        ),
      ]),
    ),
  };
}

function rejectedTable({ rejectedLots }: ReportBody): ReportTable {
  return {
    name: "Rejected lots",
    title: "Rejected lots",
    note: "As R 460.3617(b) and (c) of the Michigan Administrative Code ask for them.",
    isWide: true,
    headings: [
      "Lot",
      "Maker",
      "Type",
      "Sampled",
      "Average months since last test",
      "Tightened inspection",
      "Purchase years",
      "Least average as found, %",
      "Greatest average as found, %",
    ],
    rows: rejectedLots.map((lot) => [
      text(lot.number),
      text(lot.maker),
      text(lot.model),
      yes(lot.sampled),
      decimal(lot.averageMonthsSinceLastTest),
      yes(lot.tightened),
      text(lot.purchaseYears.join(", ")),
      decimal(lot.leastAsFound),
      decimal(lot.greatestAsFound),
    ]),
  };
}

function actionTable({ actions }: ReportBody): ReportTable {
  return {
    name: "Actions",
    title: "Corrective actions",
    note: "",
    isWide: false,
    headings: ["Lot", "Action", "What", "Due", "Done", "Overdue"],
    rows: actions.map((action) => [
      text(action.lotNumber),
      text(action.kind),
      text(action.detail),
      date(action.dueOn),
      date(action.doneOn),
      yes(action.overdue),
    ]),
  };
}

const statusNames = {
  valid: "Valid",
  "due-soon": "Due within 30 days",
  overdue: "Overdue",
  "never-calibrated": "Never calibrated",
  withdrawn: "Withdrawn",
} as const;

function standardTable({ standards, period }: ReportBody): ReportTable {
  return {
    name: "Standards",
    title: "Standards",
    note: `As they stood on ${period.to}.`,
    isWide: true,
    headings: [
      "Standard",
      "Rank",
      "Maker",
      "Model",
      "Serial",
      "Status",
      "Calibrated",
      "Due",
      "Certificate",
      "Tests",
      "Exceptions",
    ],
    rows: standards.map((standard) => [
      text(standard.designation),
      text(standard.rank === "reference" ? "Reference" : "Working"),
      text(standard.maker),
      text(standard.model),
      text(standard.serial),
      text(statusNames[standard.status]),
      date(standard.calibratedOn),
      date(standard.dueOn),
      text(standard.certificateNumber ?? ""),
      count(standard.tests),
      text(standard.exceptions.join(" ")),
    ]),
  };
}

function setAsideTable({ setAsideRows }: ReportBody): ReportTable {
  return {
    name: "Rows set aside",
    title: "Rows of files set aside",
    note: "Rows that came in files in the period and were not taken, by reason.",
    isWide: false,
    headings: ["Reason", "For example", "Rows", "Files"],
    rows: setAsideRows.map((row) => [text(row.code), text(row.detail), count(row.rows), count(row.imports)]),
  };
}

function changeTable(changes: NonNullable<ReportBody["changes"]>): ReportTable {
  return {
    name: "Changes",
    title: "What this edition changes",
    note: "Each figure that differs from the edition before, by its place in the report's data.",
    isWide: false,
    headings: ["Figure", "Before", "Now"],
    rows: changes.map(({ at, before, after }) => [text(at), text(before ?? "none"), text(after ?? "none")]),
  };
}

function dispositionName(disposition: string | null): string {
  if (disposition === null) return "";
  return Object.entries(dispositionNames).find(([known]) => known === disposition)?.[1] ?? disposition;
}

/** A cell as a document prints it: a dash where there is nothing. */
export function cellText(cell: ReportCell): string {
  switch (cell.kind) {
    case "text":
      return cell.text;
    case "count":
      return String(cell.count);
    case "decimal":
      return cell.decimal ?? "–";
    case "date":
      return cell.date ?? "–";
  }
}
