import {
  measureNames,
  type ReportBody,
  summaryDimensionNames,
  summaryPassNames,
  summaryRowName,
} from "@sealbook/contract/reports";
import { type SummaryDimension, summaryDimensions } from "@sealbook/metrology/reports/summary-schema";
import { rowFigureName } from "./figure-words.ts";

/**
 * What a figure is called that differs between two editions: words for its JSON pointer where the summary's own, else the
 * pointer's steps.
 *
 * @example changeWords("/summary/divisions/type/rows/…/tests", body) // "By type of meter: Corrigan K-1, form 1S: tests"
 */
export function changeWords(at: string, body: ReportBody): string {
  const steps = at
    .split("/")
    .slice(1)
    .map((step) => step.replaceAll("~1", "/").replaceAll("~0", "~"));
  const [part, divisions, name, rows, key = "", figure = "", place, ...rest] = steps;
  const dimension = summaryDimensions.find((one) => one === name);
  if (part !== "summary" || divisions !== "divisions" || dimension === undefined || rows !== "rows") {
    return steps.filter((step) => step !== "").join(": ");
  }
  const row = rowWords(dimension, key, body);
  if (figure !== "measures") return `${row}: ${rowFigureName(figure)}`;
  const measure = body.summary.divisions[0]?.rows[0]?.measures[Number(place)];
  const load =
    measure === undefined ? "" : `${measureNames[measure.measure]} ${summaryPassNames[measure.pass]}`;
  const classLabel = rest[0] === "classes" ? body.summary.layout.classes[Number(rest[1])]?.label : undefined;
  return `${row}: ${load}: ${classLabel ?? rowFigureName(rest.join(" "))}`;
}

function rowWords(dimension: SummaryDimension, key: string, body: ReportBody): string {
  const row = summaryRowName(dimension, key, body);
  return dimension === "all" ? row : `${summaryDimensionNames[dimension]}: ${row}`;
}
