import type { ImportMapping, TestMapping } from "@sealbook/contract/imports";
import type { ClashLine } from "../../trade/clash-notice.tsx";
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
  return [
    line("/name", name),
    line("/figures", used.figures ? figuresNames[body.figures] : "None in percent"),
    ...(body.kind === "meter-tests" ? testLines(body) : []),
    line("/separator", separatorNames[body.separator]),
    line("/decimalMark", decimalMarkNames[body.decimalMark]),
    line("/dateOrder", dateOrderNames[body.dateOrder]),
    ...("timeZone" in body ? [line("/timeZone", body.timeZone)] : []),
    ...Object.entries(body.columns).map(([heading, field]) => ({
      term: `Column "${heading}"`,
      value: importFieldName(field, body.kind),
    })),
    ...(body.kind === "meter-tests"
      ? [
          ...words("Reason", body.reasons, reasonNames),
          ...words("No test possible", body.noTestPossible, untestableNames),
          ...words("Creep", body.creepWords, creepNames),
        ]
      : []),
  ];
}

function line(pointer: string, value: string): MappingLine {
  return { term: mappingLabel(pointer), value };
}

/** What only mappings of tests say. */
function testLines(body: TestMapping): MappingLine[] {
  const used = fieldsUsed(Object.values(body.columns));
  const byColumn = (hasColumn: boolean, forAll: string | null, otherwise: string) => {
    if (!hasColumn) return forAll ?? otherwise;
    return forAll === null ? "By its column" : `By its column; where that is empty, ${forAll}`;
  };
  return [
    line("/energyUnit", used.energy ? body.energyUnit : "No energies"),
    line("/errorAppliedByBench", body.errorAppliedByBench ? "Yes" : "No"),
    line("/standardDesignation", byColumn(used.standard, body.standardDesignation, "None")),
    line("/planCode", byColumn(used.planCode, body.planCode, "Each meter type's own")),
    line("/defaultReason", byColumn(used.reason, nameOf(body.defaultReason), "None")),
  ];
}

/**
 * What a clash is shown by: every line that the mapping had when it was opened, has on record now, or would have with
 * one's own changes; "–" where it does not.
 */
export function clashLines(
  opened: Pick<ImportMapping, "name" | "body">,
  mine: Pick<ImportMapping, "name" | "body">,
  theirs: Pick<ImportMapping, "name" | "body">,
): ClashLine[] {
  const byTerm = (mapping: typeof mine) =>
    new Map(mappingLines(mapping).map(({ term, value }) => [term, value]));
  const of = { opened: byTerm(opened), mine: byTerm(mine), theirs: byTerm(theirs) };
  const terms = new Set([...of.theirs.keys(), ...of.mine.keys(), ...of.opened.keys()]);
  return [...terms].map((label) => ({
    label,
    opened: of.opened.get(label) ?? "–",
    mine: of.mine.get(label) ?? "–",
    theirs: of.theirs.get(label) ?? "–",
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
