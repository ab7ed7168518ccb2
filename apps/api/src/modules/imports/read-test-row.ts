import { textSchema } from "@sealbook/contract/common";
import type { TestMapping } from "@sealbook/contract/imports";
import { type NewMeterTest, type UntestableReason, untestableReasons } from "@sealbook/contract/meter-tests";
import { type TestReason, testReasons } from "@sealbook/contract/work-items";
import { Decimal } from "@sealbook/metrology/decimal";
import { type CellProblem, Cells } from "./cells.ts";
import type { Layout, PointColumns } from "./lay-out-columns.ts";
import { misreadRecord } from "./misread-record.ts";
import { readDateTime } from "./read-date-time.ts";
import type { FileRecord } from "./read-records.ts";

type PassEntry = Extract<NewMeterTest["outcome"], { kind: "tested" }>["asFound"];
export type PointEntry = PassEntry["points"][number];

/** What one row says, read by its mapping; nothing is looked up yet. */
export interface TestRow {
  readonly meterNumber: string | null;
  readonly serial: string | null;
  readonly performedAt: Date;
  readonly tester: string | null;
  readonly reason: TestReason;
  readonly standard: string | null;
  readonly planCode: string | null;
  readonly untestable: UntestableReason | null;
  readonly asFound: readonly PointEntry[];
  /** Empty when nothing was measured as left. */
  readonly asLeft: readonly PointEntry[];
  readonly adjustment: string;
  readonly creep: PassEntry["creep"];
  /** Null where the row says nothing of creep as left. */
  readonly creepAsLeft: PassEntry["creep"] | null;
  readonly conditions: NewMeterTest["conditions"];
  readonly readingBefore: string | null;
  readonly readingAfter: string | null;
  readonly sealsApplied: readonly string[];
  readonly sealsRemoved: readonly string[];
  readonly remarks: string;
}

/**
 * Reads one record by its mapping: words to ours, figures to percent registration, local time to an instant. Every
 * cell that cannot be taken is told, not only the first.
 */
export function readTestRow(
  record: FileRecord,
  layout: Layout,
  mapping: TestMapping,
): { kind: "row"; row: TestRow } | { kind: "problems"; problems: CellProblem[] } {
  const misread = misreadRecord(record, layout);
  if (misread !== null) return { kind: "problems", problems: [misread] };
  const cells = new TestCells(record.fields, layout, mapping);
  const untestable = cells.untestable();
  const row = {
    ...cells.meter(),
    performedAt: cells.performedAt(),
    tester: cells.text("tester"),
    reason: cells.reason(),
    standard: cells.text("standard") ?? mapping.standardDesignation,
    planCode: cells.text("planCode") ?? mapping.planCode,
    untestable,
    asFound: untestable === null ? cells.asFound() : cells.noFigures(),
    asLeft: untestable === null ? cells.asLeft() : [],
    adjustment: cells.longText("adjustment"),
    creep: cells.creep("creep") ?? "not-checked",
    creepAsLeft: cells.creep("creepAsLeft"),
    conditions: {
      volts: cells.decimal("volts", "positive"),
      amperes: cells.decimal("amperes", "positive"),
      temperatureCelsius: cells.decimal("temperature", "any"),
    },
    readingBefore: cells.decimal("readingBefore", "any"),
    readingAfter: cells.decimal("readingAfter", "any"),
    sealsApplied: cells.seals("sealsApplied"),
    sealsRemoved: cells.seals("sealsRemoved"),
    remarks: cells.longText("remarks"),
  };
  const { performedAt, reason } = row;
  if (cells.problems.length > 0 || performedAt === null || reason === null) {
    return { kind: "problems", problems: cells.problems };
  }
  return { kind: "row", row: { ...row, performedAt, reason } };
}

/** The cells of a row of tests. */
class TestCells extends Cells<TestMapping> {
  meter(): { meterNumber: string | null; serial: string | null } {
    const meterNumber = this.text("meterNumber");
    const serial = this.text("serial");
    if (meterNumber === null && serial === null) {
      this.refuse(
        this.layout.of("meterNumber") ?? this.layout.of("serial"),
        "meter-missing",
        "The meter's number is missing; write it as it is on the meter.",
      );
    }
    return { meterNumber, serial };
  }

  performedAt(): Date | null {
    const both = this.layout.of("performedAt");
    const date = this.layout.of("performedDate");
    const text =
      both === null ? `${this.cell(date)} ${this.cell(this.layout.of("performedTime"))}` : this.cell(both);
    const read = readDateTime(text.trim(), this.mapping.dateOrder, this.mapping.timeZone);
    if (read.kind === "instant") return read.at;
    const column = read.code === "time-missing" ? this.layout.of("performedTime") : date;
    this.problems.push({
      column: (both ?? column)?.heading ?? "",
      value: text.trim(),
      code: read.code,
      detail: read.detail,
    });
    return null;
  }

  reason(): TestReason | null {
    const column = this.layout.of("reason");
    const word = this.cell(column);
    const ours =
      word === "" ? this.mapping.defaultReason : (lookUp(this.mapping.reasons, word) ?? word.toLowerCase());
    if (ours === null) {
      return this.refuse(
        column,
        "reason-missing",
        "The reason for the test is missing; write one, or give the mapping a reason for all.",
      );
    }
    if (isOneOf(testReasons, ours)) return ours;
    return this.refuse(
      column,
      "unknown-reason",
      "The mapping does not know this reason. Add the word to the mapping, or write one that it knows.",
    );
  }

  untestable(): UntestableReason | null {
    const column = this.layout.of("noTestPossible");
    const word = this.cell(column);
    if (word === "") return null;
    const ours = lookUp(this.mapping.noTestPossible, word) ?? word.toLowerCase();
    if (isOneOf(untestableReasons, ours)) return ours;
    return this.refuse(
      column,
      "unknown-word",
      "The mapping does not know this word for a meter that cannot be tested. Add it to the mapping, or empty the cell.",
    );
  }

  /** What a cell says of creep, null where it says nothing. */
  creep(field: "creep" | "creepAsLeft"): PassEntry["creep"] | null {
    const column = this.layout.of(field);
    const word = this.cell(column);
    if (word === "") return null;
    const ours = lookUp(this.mapping.creepWords, word) ?? word.toLowerCase();
    if (isOneOf(["none", "creeps", "not-checked"] as const, ours)) return ours;
    return this.refuse(
      column,
      "unknown-word",
      "The mapping does not know this word for creep. Add it to the mapping, or empty the cell where creep was not checked.",
    );
  }

  asFound(): PointEntry[] {
    return this.layout.points.flatMap((point) => {
      const run = point.counts === null ? this.figure(point.asFound) : this.#countsAndEnergy(point);
      return run === null ? [] : [{ pointKey: point.pointKey, runs: [run] }];
    });
  }

  asLeft(): PointEntry[] {
    return this.layout.points.flatMap(({ pointKey, asLeft }) => {
      const run = this.figure(asLeft);
      return run === null ? [] : [{ pointKey, runs: [run] }];
    });
  }

  /** A meter that could not be tested has no figures; a bench may print zeros for them. */
  noFigures(): [] {
    for (const point of this.layout.points) {
      for (const column of [point.asFound, point.asLeft, point.counts, point.standardEnergy]) {
        if (!/[1-9]/.test(this.cell(column))) continue;
        this.refuse(
          column,
          "figure-of-untestable",
          "The row says that no test was possible and gives a figure all the same. Empty one of the two.",
        );
      }
    }
    return [];
  }

  #countsAndEnergy(point: PointColumns): PointEntry["runs"][number] | null {
    if (this.cell(point.counts) === "" && this.cell(point.standardEnergy) === "") return null;
    const counts = this.number(point.counts, "positive", "asked");
    const energy = this.number(point.standardEnergy, "positive", "asked");
    if (counts === null || energy === null) return null;
    const standardEnergy =
      this.mapping.energyUnit === "kWh" ? new Decimal(energy).times("1000").toFixed() : energy;
    return { kind: "counts", counts, standardEnergy };
  }

  decimal(field: string, sign: "any" | "positive"): string | null {
    return this.number(this.layout.of(field), sign);
  }

  longText(field: keyof typeof longTexts): string {
    const column = this.layout.of(field);
    const cell = this.cell(column);
    const { longest, schema } = longTexts[field];
    if (!schema.safeParse(cell).success) {
      this.refuse(column, "bad-text", `At most ${longest} characters, and no control characters.`);
    }
    return cell;
  }
}

const longTexts = {
  adjustment: { longest: 500, schema: textSchema(500) },
  remarks: { longest: 2000, schema: textSchema(2000) },
};

function lookUp<Ours extends string>(words: Readonly<Record<string, Ours>>, word: string): Ours | null {
  const wanted = word.toLowerCase();
  for (const [theirs, ours] of Object.entries(words)) {
    if (theirs.trim().toLowerCase() === wanted) return ours;
  }
  return null;
}

function isOneOf<Word extends string>(words: readonly Word[], text: string): text is Word {
  return (words as readonly string[]).includes(text);
}
