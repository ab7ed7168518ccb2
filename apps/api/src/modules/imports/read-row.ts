import { lineSchema, textSchema } from "@sealbook/contract/common";
import type { ImportMappingBody } from "@sealbook/contract/imports";
import { type NewMeterTest, type UntestableReason, untestableReasons } from "@sealbook/contract/meter-tests";
import { type TestReason, testReasons } from "@sealbook/contract/work-items";
import { standardRegistrationOf } from "@sealbook/metrology/accuracy/standard-registration-of";
import { Decimal } from "@sealbook/metrology/decimal";
import type { Column, Layout, PointColumns } from "./lay-out-columns.ts";
import { readDateTime } from "./read-date-time.ts";
import { readDecimal } from "./read-decimal.ts";
import type { FileRecord } from "./read-records.ts";

/** Why a row is set aside, as far as it is about one cell; the heading is empty when it is about the whole row. */
export interface CellProblem {
  readonly column: string;
  readonly value: string;
  readonly code: string;
  readonly detail: string;
}

type PassEntry = Extract<NewMeterTest["outcome"], { kind: "tested" }>["asFound"];
export type PointEntry = PassEntry["points"][number];

/** What one row says, read by its mapping; nothing is looked up yet. */
export interface ReadRow {
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
  readonly conditions: NewMeterTest["conditions"];
  readonly readingBefore: string | null;
  readonly readingAfter: string | null;
  readonly sealsApplied: readonly string[];
  readonly sealsRemoved: readonly string[];
  readonly remarks: string;
}

/** A registration further off than this is a slip of unit, sign or column, not a meter: a person shall look at it. */
const plausible = { least: new Decimal("50"), most: new Decimal("150") };

/**
 * Reads one record by its mapping: words to ours, figures to percent registration, local time to an instant. Every
 * cell that cannot be taken is told, not only the first.
 */
export function readRow(
  record: FileRecord,
  layout: Layout,
  mapping: ImportMappingBody,
): { kind: "row"; row: ReadRow } | { kind: "problems"; problems: CellProblem[] } {
  if (record.fault !== null)
    return { kind: "problems", problems: [{ column: "", value: "", ...record.fault }] };
  if (record.fields.length !== layout.width) {
    return {
      kind: "problems",
      problems: [
        {
          column: "",
          value: "",
          code: "wrong-column-count",
          detail: `This row has ${record.fields.length} cells, the headings are ${layout.width}. Look for a separator too many or too few, and put cells that contain one in quotes.`,
        },
      ],
    };
  }
  const cells = new Cells(record.fields, layout, mapping);
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
    creep: cells.creep(),
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

/** The cells of one row, and what is wrong with them so far. */
class Cells {
  readonly problems: CellProblem[] = [];
  readonly #fields: readonly string[];
  readonly #layout: Layout;
  readonly #mapping: ImportMappingBody;

  constructor(fields: readonly string[], layout: Layout, mapping: ImportMappingBody) {
    this.#fields = fields;
    this.#layout = layout;
    this.#mapping = mapping;
  }

  #cell(column: Column | null): string {
    return column === null ? "" : (this.#fields[column.index] ?? "").trim();
  }

  #refuse(column: Column | null, code: string, detail: string): null {
    this.problems.push({ column: column?.heading ?? "", value: this.#cell(column), code, detail });
    return null;
  }

  text(field: string): string | null {
    const cell = this.#cell(this.#layout.of(field));
    return cell === "" ? null : cell;
  }

  meter(): { meterNumber: string | null; serial: string | null } {
    const meterNumber = this.text("meterNumber");
    const serial = this.text("serial");
    if (meterNumber === null && serial === null) {
      this.#refuse(
        this.#layout.of("meterNumber") ?? this.#layout.of("serial"),
        "meter-missing",
        "The meter's number is missing; write it as it is on the meter.",
      );
    }
    return { meterNumber, serial };
  }

  performedAt(): Date | null {
    const both = this.#layout.of("performedAt");
    const date = this.#layout.of("performedDate");
    const text =
      both === null
        ? `${this.#cell(date)} ${this.#cell(this.#layout.of("performedTime"))}`
        : this.#cell(both);
    const read = readDateTime(text.trim(), this.#mapping.dateOrder, this.#mapping.timeZone);
    if (read.kind === "instant") return read.at;
    const column = read.code === "time-missing" ? this.#layout.of("performedTime") : date;
    this.problems.push({
      column: (both ?? column)?.heading ?? "",
      value: text.trim(),
      code: read.code,
      detail: read.detail,
    });
    return null;
  }

  reason(): TestReason | null {
    const column = this.#layout.of("reason");
    const word = this.#cell(column);
    const ours =
      word === "" ? this.#mapping.defaultReason : (lookUp(this.#mapping.reasons, word) ?? word.toLowerCase());
    if (ours === null) {
      return this.#refuse(
        column,
        "reason-missing",
        "The reason for the test is missing; write one, or give the mapping a reason for all.",
      );
    }
    if (isOneOf(testReasons, ours)) return ours;
    return this.#refuse(
      column,
      "unknown-reason",
      "The mapping does not know this reason. Add the word to the mapping, or write one that it knows.",
    );
  }

  untestable(): UntestableReason | null {
    const column = this.#layout.of("noTestPossible");
    const word = this.#cell(column);
    if (word === "") return null;
    const ours = lookUp(this.#mapping.noTestPossible, word) ?? word.toLowerCase();
    if (isOneOf(untestableReasons, ours)) return ours;
    return this.#refuse(
      column,
      "unknown-word",
      "The mapping does not know this word for a meter that cannot be tested. Add it to the mapping, or empty the cell.",
    );
  }

  creep(): PassEntry["creep"] {
    const column = this.#layout.of("creep");
    const word = this.#cell(column);
    if (word === "") return "not-checked";
    const ours = lookUp(this.#mapping.creepWords, word) ?? word.toLowerCase();
    if (isOneOf(["none", "creeps", "not-checked"] as const, ours)) return ours;
    this.#refuse(
      column,
      "unknown-word",
      "The mapping does not know this word for creep. Add it to the mapping, or empty the cell where creep was not checked.",
    );
    return "not-checked";
  }

  asFound(): PointEntry[] {
    return this.#layout.points.flatMap((point) => {
      const run = point.counts === null ? this.#figure(point.asFound) : this.#countsAndEnergy(point);
      return run === null ? [] : [{ pointKey: point.pointKey, runs: [run] }];
    });
  }

  asLeft(): PointEntry[] {
    return this.#layout.points.flatMap(({ pointKey, asLeft }) => {
      const run = this.#figure(asLeft);
      return run === null ? [] : [{ pointKey, runs: [run] }];
    });
  }

  /** A meter that could not be tested has no figures; a bench may print zeros for them. */
  noFigures(): [] {
    for (const point of this.#layout.points) {
      for (const column of [point.asFound, point.asLeft, point.counts, point.standardEnergy]) {
        if (!/[1-9]/.test(this.#cell(column))) continue;
        this.#refuse(
          column,
          "figure-of-untestable",
          "The row says that no test was possible and gives a figure all the same. Empty one of the two.",
        );
      }
    }
    return [];
  }

  #figure(column: Column | null): PointEntry["runs"][number] | null {
    const figure = this.#number(column);
    if (figure === null) return null;
    const registration = standardRegistrationOf(figure, this.#mapping.figures);
    if (!isPlausibleRegistration(registration)) {
      return this.#refuse(column, "implausible-figure", implausible(registration));
    }
    return { kind: "registration", registrationPercent: registration };
  }

  #countsAndEnergy(point: PointColumns): PointEntry["runs"][number] | null {
    if (this.#cell(point.counts) === "" && this.#cell(point.standardEnergy) === "") return null;
    const counts = this.#number(point.counts, "positive", "asked");
    const energy = this.#number(point.standardEnergy, "positive", "asked");
    if (counts === null || energy === null) return null;
    const standardEnergy =
      this.#mapping.energyUnit === "kWh" ? new Decimal(energy).times("1000").toFixed() : energy;
    return { kind: "counts", counts, standardEnergy };
  }

  decimal(field: string, sign: "any" | "positive"): string | null {
    return this.#number(this.#layout.of(field), sign);
  }

  #number(
    column: Column | null,
    sign: "any" | "positive" = "any",
    empty: "taken" | "asked" = "taken",
  ): string | null {
    const cell = this.#cell(column);
    if (cell === "") {
      if (empty === "taken") return null;
      return this.#refuse(
        column,
        "figure-missing",
        "A figure is missing here; write it, or set the row aside.",
      );
    }
    const number = readDecimal(cell, this.#mapping.decimalMark);
    if (number === null) {
      return this.#refuse(
        column,
        "not-a-number",
        `This is no number with "${this.#mapping.decimalMark}" as its decimal mark. Write digits only, or change the mapping's decimal mark.`,
      );
    }
    if (sign === "positive" && (number.startsWith("-") || !/[1-9]/.test(number))) {
      return this.#refuse(column, "not-positive", "This must be above zero.");
    }
    return number;
  }

  seals(field: string): string[] {
    const column = this.#layout.of(field);
    const seals = this.#cell(column)
      .split(/[;,]/)
      .map((seal) => seal.trim())
      .filter((seal) => seal !== "");
    if (seals.length > 12 || seals.some((seal) => !sealSchema.safeParse(seal).success)) {
      this.#refuse(
        column,
        "bad-text",
        "At most 12 seals of at most 40 characters each, with commas between them.",
      );
    }
    return seals;
  }

  longText(field: keyof typeof longTexts): string {
    const column = this.#layout.of(field);
    const cell = this.#cell(column);
    const { longest, schema } = longTexts[field];
    if (!schema.safeParse(cell).success) {
      this.#refuse(column, "bad-text", `At most ${longest} characters, and no control characters.`);
    }
    return cell;
  }
}

const sealSchema = lineSchema(40);
const longTexts = {
  adjustment: { longest: 500, schema: textSchema(500) },
  remarks: { longest: 2000, schema: textSchema(2000) },
};

/** Whether a percent registration is one that a meter can show and not a slip of unit, sign or column. */
export function isPlausibleRegistration(registrationPercent: string): boolean {
  const value = new Decimal(registrationPercent);
  return value.gte(plausible.least) && value.lte(plausible.most);
}

export function implausible(registrationPercent: string): string {
  return `This makes ${registrationPercent} percent registration; between ${plausible.least} and ${plausible.most} is taken without a question. Check the column, its sign convention and its unit; a true reading this far off is entered by hand.`;
}

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
