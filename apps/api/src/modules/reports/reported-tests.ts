import type { ReportBody, ReportedTestRow } from "@sealbook/contract/reports";
import type { ReportedTest } from "@sealbook/metrology/reports/reported-test";
import type { SummaryDimension } from "@sealbook/metrology/reports/summary-schema";
import { testCounter } from "@sealbook/metrology/reports/test-counter";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { reading } from "../../platform/reading.ts";
import type { Actor } from "../../platform/transaction.ts";
import { getFileView, readFileStream } from "../files/files.ts";
import { bandsOf, buildBody, readBody, termsOfBody, testsOfReport } from "./build-body.ts";
import { readTests, settledMoment } from "./read-tests.ts";
import { type FixedFigures, findNumbers } from "./store.ts";
import { linesOf, readText } from "./tests-file.ts";
import { seenReport } from "./view-report.ts";

/** The tests behind one number of a report, by id: of a draft as they are now, else those that were fixed. */
export async function listReportedTests(
  database: Database,
  id: string,
  query: {
    cursor?: string | undefined;
    limit: number;
    dimension: SummaryDimension;
    key: string;
    figure: string;
  },
  actor: Actor | null,
): Promise<{ rows: ReportedTestRow[]; next: string | null }> {
  const source = reading(database);
  const report = await seenReport(source, id, actor);
  const bands = await bandsOf(source, report.layoutProfileId);
  const after = query.cursor === undefined ? "" : String(fromCursor(query.cursor, 1)[0]);
  const found: ReportedTest[] = [];
  const { figures } = report;
  const address = { dimension: query.dimension, key: query.key, figure: query.figure };
  let body: Pick<ReportBody, "types" | "lateSince">;
  if (figures === null) {
    const cutoff = await settledMoment(source);
    body = (await buildBody(database.pool, source, report, cutoff, null)).body;
    const counter = testCounter(termsOfBody(body, bands));
    const tests = await testsOfReport(source, report, cutoff);
    await readTests(database.pool, tests, (test) => {
      if (found.length <= query.limit && test.id > after && counter.isBehind(test, address)) found.push(test);
    });
  } else {
    body = readBody(figures.body);
    const counter = testCounter(termsOfBody(body, bands));
    for await (const line of await testLines(database, figures)) {
      const test = readText(line);
      if (test.id > after && counter.isBehind(test, address)) found.push(test);
      if (found.length > query.limit) break;
    }
  }
  const numbers = await findNumbers(
    source,
    found.map(({ meterId }) => meterId),
  );
  const types = new Map(body.types.map((type) => [type.id, `${type.maker} ${type.model}`]));
  return toPage(
    found.map(
      (test): ReportedTestRow => ({
        id: test.id,
        meterId: test.meterId,
        utilityNumber: numbers.get(test.meterId) ?? test.meterId,
        type: types.get(test.typeId) ?? "",
        performedOn: test.performedOn,
        reasons: [...test.reasons],
        state: test.state,
        verdict: test.asFound?.verdict ?? (test.untestableReason === null ? "withdrawn" : "no-test-possible"),
        untestableReason: test.untestableReason,
        creeps: test.asFound?.creeps ?? null,
        fullLoad: test.asFound?.fullLoad ?? null,
        lightLoad: test.asFound?.lightLoad ?? null,
        powerFactor: test.asFound?.powerFactor ?? null,
        average: test.asFound?.average ?? null,
        previousOn: test.previousOn,
      }),
    ),
    query.limit,
    (row) => [row.id],
  );
}

/** Texts of the records behind fixed figures, by id, as they were hashed. */
export async function testLines(
  database: Database,
  { testsFileId }: FixedFigures,
): Promise<AsyncGenerator<string>> {
  const file = await getFileView(reading(database), testsFileId);
  return linesOf(readFileStream(database, file));
}
