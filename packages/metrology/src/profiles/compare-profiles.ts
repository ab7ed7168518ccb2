import type { RuleProfile } from "./profile-schema.ts";

/** One field in which two versions of a profile differ; a side that lacks the field is null. */
export interface ProfileDifference {
  /** Where: names of fields, and of rows by what tells them apart, such as ["limits", "average on new", "minPercent"]. */
  path: readonly string[];
  before: string | null;
  after: string | null;
}

type Json = null | boolean | number | string | readonly Json[] | { readonly [field: string]: Json };

/**
 * Compares two rule profiles field by field. Rows of a list are matched by what tells them apart (a limit by what it
 * limits, on which occasions and for which class; a citation by its title), so a row that moved is no difference; texts
 * of a list are matched as they stand.
 *
 * @param before the older version
 * @param after  the newer version
 * @returns the differences in the order of the fields, empty where the documents say the same
 * @example compareProfiles(v1, v2) // [{ path: ["averages", "method-2", "rule", "label"], before: "...", after: null }]
 */
export function compareProfiles(before: RuleProfile, after: RuleProfile): ProfileDifference[] {
  return differences([], before as unknown as Json, after as unknown as Json);
}

function differences(
  path: readonly string[],
  before: Json | undefined,
  after: Json | undefined,
): ProfileDifference[] {
  if (isFields(before) && isFields(after)) return ofFields(path, before, after);
  if (isRows(before) && isRows(after)) return ofFields(path, byName(before), byName(after));
  const [old, now] = [textOf(before), textOf(after)];
  return old === now ? [] : [{ path, before: old, after: now }];
}

function ofFields(
  path: readonly string[],
  before: { readonly [field: string]: Json },
  after: { readonly [field: string]: Json },
): ProfileDifference[] {
  const names = [...new Set([...Object.keys(before), ...Object.keys(after)])];
  return names.flatMap((name) => differences([...path, name], before[name], after[name]));
}

function isFields(value: Json | undefined): value is { readonly [field: string]: Json } {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function isRows(value: Json | undefined): value is readonly Json[] {
  return Array.isArray(value);
}

/** The rows of a list by name; rows with one name are numbered. */
function byName(rows: readonly Json[]): { readonly [name: string]: Json } {
  const named: Record<string, Json> = {};
  for (const row of rows) {
    const name = nameOf(row);
    let free = name;
    for (let number = 2; free in named; number += 1) free = `${name} (${number})`;
    named[free] = row;
  }
  return named;
}

/** What tells a row of a profile's lists apart from its neighbours. */
function nameOf(row: Json): string {
  if (!isFields(row)) return textOf(row) ?? "";
  if ("key" in row) return `${row.key}`;
  if ("of" in row) {
    return [
      row.of,
      "on",
      listed(row.occasions),
      ...(row.accuracyClass ? ["class", row.accuracyClass] : []),
    ].join(" ");
  }
  if ("role" in row) return `${row.role}`;
  if ("appliesTo" in row) return `${row.appliesTo}`;
  if ("connection" in row) return `${row.connection} class ${row.accuracyClass}`;
  const name = row.title ?? row.label ?? row.what;
  return typeof name === "string" ? name : JSON.stringify(row);
}

function listed(value: Json | undefined): string {
  return isRows(value ?? null) ? (value as readonly Json[]).join(", ") : "";
}

function textOf(value: Json | undefined): string | null {
  if (value === undefined) return null;
  if (value === null) return "not said";
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}
