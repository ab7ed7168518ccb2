import { lineSchema } from "@sealbook/contract/common";
import type { ImportMappingBody } from "@sealbook/contract/imports";
import { isPlausibleRegistration } from "@sealbook/metrology/accuracy/is-plausible-registration";
import { standardRegistrationOf } from "@sealbook/metrology/accuracy/standard-registration-of";
import type { Column, Layout } from "./lay-out-columns.ts";
import { implausible } from "./plausible-registration.ts";
import { readDecimal } from "./read-decimal.ts";

const sealSchema = lineSchema(40);

/** Why a row is set aside, as far as it is about one cell; the heading is empty when it is about the whole row. */
export interface CellProblem {
  readonly column: string;
  readonly value: string;
  readonly code: string;
  readonly detail: string;
}

/** The cells of one row, and what is wrong with them so far: what rows of every kind have in common. */
export class Cells<Mapping extends Pick<ImportMappingBody, "decimalMark" | "figures">> {
  readonly problems: CellProblem[] = [];
  readonly #fields: readonly string[];
  protected readonly layout: Layout;
  protected readonly mapping: Mapping;

  constructor(fields: readonly string[], layout: Layout, mapping: Mapping) {
    this.#fields = fields;
    this.layout = layout;
    this.mapping = mapping;
  }

  protected cell(column: Column | null): string {
    return column === null ? "" : (this.#fields[column.index] ?? "").trim();
  }

  protected refuse(column: Column | null, code: string, detail: string): null {
    this.problems.push({ column: column?.heading ?? "", value: this.cell(column), code, detail });
    return null;
  }

  /** What a cell says, null where it says nothing. */
  text(field: string): string | null {
    const cell = this.cell(this.layout.of(field));
    return cell === "" ? null : cell;
  }

  /** Numbers of seals with commas or semicolons between them. */
  seals(field: string): string[] {
    const column = this.layout.of(field);
    const seals = this.cell(column)
      .split(/[;,]/)
      .map((seal) => seal.trim())
      .filter((seal) => seal !== "");
    if (seals.length > 12 || seals.some((seal) => !sealSchema.safeParse(seal).success)) {
      this.refuse(
        column,
        "bad-text",
        "At most 12 seals of at most 40 characters each, with commas between them.",
      );
    }
    return seals;
  }

  /** A figure in the mapping's convention as percent registration, null where there is none. */
  protected figure(column: Column | null): { kind: "registration"; registrationPercent: string } | null {
    const figure = this.number(column);
    if (figure === null) return null;
    const registration = standardRegistrationOf(figure, this.mapping.figures);
    if (!isPlausibleRegistration(registration)) {
      return this.refuse(column, "implausible-figure", implausible(registration));
    }
    return { kind: "registration", registrationPercent: registration };
  }

  protected number(
    column: Column | null,
    sign: "any" | "positive" = "any",
    empty: "taken" | "asked" = "taken",
  ): string | null {
    const cell = this.cell(column);
    if (cell === "") {
      if (empty === "taken") return null;
      return this.refuse(
        column,
        "figure-missing",
        "A figure is missing here; write it, or set the row aside.",
      );
    }
    const number = readDecimal(cell, this.mapping.decimalMark);
    if (number === null) {
      return this.refuse(
        column,
        "not-a-number",
        `This is no number with "${this.mapping.decimalMark}" as its decimal mark. Write digits only, or change the mapping's decimal mark.`,
      );
    }
    if (sign === "positive" && (number.startsWith("-") || !/[1-9]/.test(number))) {
      return this.refuse(column, "not-positive", "This must be above zero.");
    }
    return number;
  }
}
