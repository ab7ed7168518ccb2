import { lineSchema } from "@sealbook/contract/common";
import type { InventoryField, InventoryMapping } from "@sealbook/contract/imports";
import { Cells } from "./cells.ts";
import { type DateOrder, readDate } from "./read-date.ts";

const dateLooks: Record<DateOrder, string> = {
  iso: "2026-03-31",
  "day-month-year": "31.03.2026",
  "month-day-year": "03/31/2026",
};

/** The cells of a row of an inventory's file. */
export class InventoryCells<Mapping extends InventoryMapping> extends Cells<Mapping> {
  /** A line of text that must be there. */
  needed(field: InventoryField, longest: number): string {
    const line = this.line(field, longest);
    if (line !== null) return line;
    if (this.text(field) === null) {
      this.refuse(this.layout.of(field), "missing", "This cell is empty, and the row needs it. Write it.");
    }
    return "";
  }

  /** A line of text that the book can keep, null where there is none. */
  line(field: InventoryField, longest: number): string | null {
    const text = this.text(field);
    if (text === null || isLine(text, longest)) return text;
    return this.refuse(
      this.layout.of(field),
      "malformed",
      `This cannot be kept: at most ${longest} characters, and no control characters. Write it as it is on the meter.`,
    );
  }

  /** A date as ISO 8601, null where there is none. */
  date(field: InventoryField): string | null {
    const text = this.text(field);
    if (text === null) return null;
    const { dateOrder } = this.mapping;
    const date = readDate(text, dateOrder);
    if (date !== null) return `${date.year}-${twoDigits(date.month)}-${twoDigits(date.day)}`;
    return this.refuse(
      this.layout.of(field),
      "bad-date",
      `This is no date that exists, written like ${dateLooks[dateOrder]}. Write it so, or change the mapping's order of the date.`,
    );
  }

  /** A decimal number of 0 or more, as a register shows it; null where there is none. */
  reading(field: InventoryField): string | null {
    const column = this.layout.of(field);
    const number = this.number(column);
    if (number === null || !number.startsWith("-")) return number;
    return this.refuse(column, "negative", "A register shows no number below zero.");
  }

  /** A decimal number above zero, null where there is none. */
  positive(field: InventoryField): string | null {
    return this.number(this.layout.of(field), "positive");
  }

  /** One of our words, by itself or as people read it, whatever the case; null where the cell is empty. */
  word<Word extends string>(field: InventoryField, names: Readonly<Record<Word, string>>): Word | null {
    const text = this.text(field)?.toLowerCase() ?? null;
    if (text === null) return null;
    for (const [word, name] of Object.entries(names) as [Word, string][]) {
      if (text === word || text === name.toLowerCase()) return word;
    }
    return this.refuse(
      this.layout.of(field),
      "unknown-word",
      `This is none of the words that stand here. Write one of: ${Object.keys(names).join(", ")}.`,
    );
  }
}

function twoDigits(value: number): string {
  return value < 10 ? `0${value}` : String(value);
}

/** Plain letters and digits are no trouble, and nearly every cell has no others. */
const plain = /^[\x21-\x7e]+(?: [\x21-\x7e]+)*$/;

function isLine(text: string, longest: number): boolean {
  return (text.length <= longest && plain.test(text)) || lineSchema(longest).safeParse(text).success;
}
