import type { ReportBody } from "@sealbook/contract/reports";
import type { ReadReport } from "./check-report.ts";
import type { CountedTests } from "./check-tests.ts";
import type { Findings } from "./finding.ts";
import { firstDifference } from "./same-figures.ts";

/** Whether all tests of the period are there: their number and the root over their records, as released. */
export function checkManifest(
  { body, fixed, released }: ReadReport,
  counted: CountedTests,
  findings: Findings,
): void {
  const said = [
    { where: "the report", tests: body.manifest.tests, root: body.manifest.root },
    ...[fixed, released].flatMap((entry) => {
      if (entry === null) return [];
      const manifest = entry.payload.manifest as { tests?: unknown; root?: unknown } | undefined;
      return [{ where: `the entry ${entry.action}`, tests: manifest?.tests, root: manifest?.root }];
    }),
  ];
  for (const { where, tests, root } of said) {
    if (tests !== counted.count) {
      findings.wrong(
        "manifest-count",
        `${where} counts ${String(tests)} records of tests; ${counted.count} are here.`,
      );
    }
    if (root !== counted.root) {
      findings.wrong("manifest-root", `The records of tests here are not those whose root ${where} holds.`);
    }
  }
}

/** Whether the figures are those that counting the records gives. */
export function checkFigures(body: ReportBody, counted: CountedTests, findings: Findings): void {
  if (counted.summary === null) {
    findings.wrong("profile-missing", "The rules whose bands the report counts in are not in the bundle.");
    return;
  }
  const { summary } = body;
  const differing = firstDifference(counted.summary, summary);
  if (differing !== null) {
    const figures = counted.summary.divisions.flatMap(({ dimension, rows }) =>
      rows.flatMap((row) => {
        const said = summary.divisions
          .find((one) => one.dimension === dimension)
          ?.rows.find(({ key }) => key === row.key);
        const at = firstDifference(row, said);
        return at === null ? [] : [`${dimension}${row.key === "" ? "" : ` ${row.key}`}${at}`];
      }),
    );
    findings.wrong(
      "figures-differ",
      `Counted from the records, ${figures.length === 0 ? differing : figures.slice(0, 8).join(", ")} ${
        figures.length > 1 ? "come" : "comes"
      } out otherwise than the report says.`,
    );
  }
}

/** Whether the report's lines of standards agree with the tests that leaned on them. */
export function checkStandards(body: ReportBody, counted: CountedTests, findings: Findings): void {
  const named = new Map(body.standards.map((line) => [line.id, line]));
  for (const id of counted.byStandard.keys()) {
    if (!named.has(id))
      findings.wrong("standards-differ", `Tests leaned on standard ${id}, which the report does not name.`);
  }
  for (const line of body.standards) {
    const { tests, pastDue } = counted.byStandard.get(line.id) ?? { tests: 0, pastDue: 0 };
    if (line.tests !== tests) {
      findings.wrong(
        "standards-differ",
        `The report counts ${line.tests} tests with ${line.designation}; ${tests} are here.`,
      );
    }
    const said = line.exceptions.some((sentence) =>
      sentence.includes("performed after its calibration was due"),
    );
    if (said !== pastDue > 0) {
      findings.wrong(
        "standards-differ",
        pastDue > 0
          ? `${pastDue} tests with ${line.designation} were performed after its calibration was due, and the report does not say so.`
          : `The report says that tests with ${line.designation} were performed too late, and none here was.`,
      );
    }
  }
}
