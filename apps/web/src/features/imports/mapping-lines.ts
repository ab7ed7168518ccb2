import type { ImportMapping } from "@sealbook/contract/imports";
import { fieldsUsed } from "./fields-used.ts";
import { importFieldName } from "./import-fields.ts";
import {
  creepNames,
  dateOrderNames,
  decimalMarkNames,
  figuresNames,
  mappingLabel,
  reasonNames,
  separatorNames,
  untestableNames,
} from "./mapping-names.ts";

/** One thing that a mapping says, to read. */
export interface MappingLine {
  term: string;
  value: string;
}

/** A mapping as lines to read, one for each choice, column and word; mappings that agree give the same lines. */
export function mappingLines({ name, body }: Pick<ImportMapping, "name" | "body">): MappingLine[] {
  const used = fieldsUsed(Object.values(body.columns));
  const line = (pointer: string, value: string) => ({ term: mappingLabel(pointer), value });
  const byColumn = (hasColumn: boolean, forAll: string | null, otherwise: string) => {
    if (!hasColumn) return forAll ?? otherwise;
    return forAll === null ? "By its column" : `By its column; where that is empty, ${forAll}`;
  };
  return [
    line("/name", name),
    line("/figures", used.figures ? figuresNames[body.figures] : "None in percent"),
    line("/energyUnit", used.energy ? body.energyUnit : "No energies"),
    line("/errorAppliedByBench", body.errorAppliedByBench ? "Yes" : "No"),
    line("/standardDesignation", byColumn(used.standard, body.standardDesignation, "None")),
    line("/planCode", byColumn(used.planCode, body.planCode, "Each meter type's own")),
    line("/defaultReason", byColumn(used.reason, nameOf(body.defaultReason), "None")),
    line("/separator", separatorNames[body.separator]),
    line("/decimalMark", decimalMarkNames[body.decimalMark]),
    line("/dateOrder", dateOrderNames[body.dateOrder]),
    line("/timeZone", body.timeZone),
    ...Object.entries(body.columns).map(([heading, field]) => ({
      term: `Column "${heading}"`,
      value: importFieldName(field),
    })),
    ...words("Reason", body.reasons, reasonNames),
    ...words("No test possible", body.noTestPossible, untestableNames),
    ...words("Creep", body.creepWords, creepNames),
  ];
}

/** Two mappings side by side, every line that either has; "–" where one does not have it. */
export function clashLines(
  mine: Pick<ImportMapping, "name" | "body">,
  theirs: Pick<ImportMapping, "name" | "body">,
): { label: string; mine: string; theirs: string }[] {
  const [mineBy, theirsBy] = [mine, theirs].map(
    (mapping) => new Map(mappingLines(mapping).map(({ term, value }) => [term, value])),
  ) as [Map<string, string>, Map<string, string>];
  return [...new Set([...mineBy.keys(), ...theirsBy.keys()])].map((label) => ({
    label,
    mine: mineBy.get(label) ?? "–",
    theirs: theirsBy.get(label) ?? "–",
  }));
}

function nameOf(reason: string | null): string | null {
  return reason === null ? null : (reasonNames[reason] ?? reason);
}

function words(
  what: string,
  ours: Readonly<Record<string, string>>,
  names: Readonly<Record<string, string>>,
): MappingLine[] {
  return Object.entries(ours).map(([word, meaning]) => ({
    term: `${what} "${word}"`,
    value: names[meaning] ?? meaning,
  }));
}
