import { measureNames, type ReportBody, summaryPassNames, untestableName } from "@sealbook/contract/reports";
import { measures } from "@sealbook/metrology/reports/reported-test";
import { summaryPasses } from "@sealbook/metrology/reports/summary-schema";

const rowFigureNames: Readonly<Record<string, string>> = {
  tests: "tests",
  withinLimits: "within limits",
  outsideLimits: "outside limits",
  incomplete: "incomplete",
  noTestPossible: "no test possible",
  leftOutsideLimits: "left outside limits",
  severalReasons: "several reasons",
  late: "late entries",
};

/** What a figure of a row is called, by its own name alone: "tests", "outsideLimits". */
export function rowFigureName(figure: string): string {
  return rowFigureNames[figure] ?? figure;
}

/**
 * What a number counts, by its address in a row.
 *
 * @example figureWords("asFound/average/creeping", classes) // "Average as found: Creeping"
 */
export function figureWords(figure: string, classes: ReportBody["summary"]["layout"]["classes"]): string {
  const [first = "", second = "", third = ""] = figure.split("/");
  if (first === "setAside") return second === "amended" ? "Amended by a later record" : "Withdrawn";
  if (first === "untestable") return `No test possible: ${untestableName(second).toLowerCase()}`;
  const pass = summaryPasses.find((one) => one === first);
  const measure = measures.find((one) => one === second);
  if (pass === undefined || measure === undefined) {
    const name = rowFigureName(first);
    return name.charAt(0).toUpperCase() + name.slice(1);
  }
  const label = classes.find(({ key }) => key === third)?.label ?? rowFigureName(third);
  return `${measureNames[measure]} ${summaryPassNames[pass]}: ${label}`;
}
