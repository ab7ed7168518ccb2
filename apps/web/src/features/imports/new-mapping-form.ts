import type { Import } from "@sealbook/contract/imports";
import { cellsOfColumn } from "./cells-of-column.ts";
import { dateOrderOf } from "./date-order-of.ts";
import { decimalMarkOf } from "./decimal-mark-of.ts";
import type { MappingForm } from "./mapping-form.ts";

/**
 * The form of a new mapping as it opens for a file. How the file is written is read from its first rows where they
 * leave no doubt; what decides a test's result (convention, unit, the standard's error) is left for a person to say.
 *
 * @param timeZone  the shop's, for times without an offset
 */
export function newMappingForm(
  { kind, headings, sample }: Pick<Import, "kind" | "headings" | "sample">,
  { separator, timeZone }: { separator: MappingForm["separator"]; timeZone: string },
): MappingForm {
  const cells = headings.flatMap((_, index) => cellsOfColumn(sample, index));
  return {
    kind,
    name: "",
    separator,
    decimalMark: decimalMarkOf(cells),
    dateOrder: dateOrderOf(cells),
    timeZone,
    columns: headings.map((heading) => ({ heading: heading.trim(), field: "", isInFile: true })),
    figures: "",
    energyUnit: "",
    planCode: "",
    standardDesignation: "",
    errorAppliedByBench: "",
    defaultReason: "",
    reasons: [],
    noTestPossible: [],
    creepWords: [],
  };
}
