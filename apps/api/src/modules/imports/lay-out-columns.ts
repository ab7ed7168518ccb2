import type { ImportMappingBody } from "@sealbook/contract/imports";

export interface Column {
  readonly index: number;
  readonly heading: string;
}

export interface PointColumns {
  readonly pointKey: string;
  readonly asFound: Column | null;
  readonly asLeft: Column | null;
  readonly counts: Column | null;
  readonly standardEnergy: Column | null;
}

/** Where a file holds what its mapping names. */
export interface Layout {
  /** Cells of a row. */
  readonly width: number;
  readonly of: (field: string) => Column | null;
  readonly points: readonly PointColumns[];
}

/** Columns that a file of set-aside rows has beside its own; they are passed over when it comes back. */
export const rowColumn = "_row";
export const reasonsColumn = "_reasons";

/**
 * Finds the mapping's columns among a file's headings; blanks around a heading do not count.
 * @returns a refusal with a sentence when a column is missing or stands twice
 */
export function layOutColumns(
  headings: readonly string[],
  mapping: Pick<ImportMappingBody, "columns">,
): { kind: "layout"; layout: Layout } | { kind: "refused"; detail: string } {
  const trimmed = headings.map((heading) => heading.trim());
  const columns = new Map<string, Column>();
  const missing: string[] = [];
  for (const [heading, field] of Object.entries(mapping.columns)) {
    const index = trimmed.indexOf(heading.trim());
    if (index < 0) missing.push(`"${heading}"`);
    else if (trimmed.lastIndexOf(heading.trim()) !== index) {
      return {
        kind: "refused",
        detail: `The file has the column "${heading}" twice. Rename one of the two and send the file again.`,
      };
    } else columns.set(field, { index, heading: trimmed[index] ?? heading });
  }
  if (missing.length > 0) {
    const word = missing.length === 1 ? "column" : "columns";
    return {
      kind: "refused",
      detail: `Read by this mapping the file has no ${word} ${missing.join(", ")}. Its first line gives: ${trimmed.map((heading) => `"${heading}"`).join(", ")}. Check the separator and the mapping.`,
    };
  }
  const of = (field: string) => columns.get(field) ?? null;
  const pointKeys = new Set(
    [...columns.keys()]
      .filter((field) => field.includes("."))
      .map((field) => field.slice(0, field.indexOf("."))),
  );
  return {
    kind: "layout",
    layout: {
      width: headings.length,
      of,
      points: [...pointKeys].map((pointKey) => ({
        pointKey,
        asFound: of(`${pointKey}.asFound`),
        asLeft: of(`${pointKey}.asLeft`),
        counts: of(`${pointKey}.counts`),
        standardEnergy: of(`${pointKey}.standardEnergy`),
      })),
    },
  };
}
