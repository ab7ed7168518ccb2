import type { ImportMapping } from "@sealbook/contract/imports";
import { testReasons } from "@sealbook/contract/work-items";
import type { MappingForm } from "./mapping-form.ts";
import { wordRows } from "./word-rows.ts";

/** What only mappings of tests ask. */
const unasked = {
  timeZone: "",
  energyUnit: "",
  planCode: "",
  standardDesignation: "",
  errorAppliedByBench: "",
  defaultReason: "",
  reasons: [],
  noTestPossible: [],
  creepWords: [],
} satisfies Partial<MappingForm>;

/** The form of a saved mapping before a file: the file's own columns first, then those that it has not. */
export function formFromMapping(
  { name, body }: Pick<ImportMapping, "name" | "body">,
  headings: readonly string[],
): MappingForm {
  const trimmed = headings.map((heading) => heading.trim());
  const fieldOf = new Map(Object.entries(body.columns).map(([heading, field]) => [heading.trim(), field]));
  const missing = [...fieldOf].filter(([heading]) => !trimmed.includes(heading));
  const common = {
    kind: body.kind,
    name,
    separator: body.separator,
    decimalMark: body.decimalMark,
    dateOrder: body.dateOrder,
    columns: [
      ...trimmed.map((heading) => ({ heading, field: fieldOf.get(heading) ?? "", isInFile: true })),
      ...missing.map(([heading, field]) => ({ heading, field, isInFile: false })),
    ],
    figures: body.figures,
  };
  if (body.kind === "meter-events") return { ...unasked, ...common, timeZone: body.timeZone };
  if (body.kind !== "meter-tests") return { ...unasked, ...common };
  return {
    ...common,
    timeZone: body.timeZone,
    energyUnit: body.energyUnit,
    planCode: body.planCode ?? "",
    standardDesignation: body.standardDesignation ?? "",
    errorAppliedByBench: body.errorAppliedByBench ? "yes" : "no",
    defaultReason: testReasons.find((reason) => reason === body.defaultReason) ?? "",
    reasons: wordRows(Object.entries(body.reasons)),
    noTestPossible: wordRows(Object.entries(body.noTestPossible)),
    creepWords: wordRows(Object.entries(body.creepWords)),
  };
}
