import { correctiveActionNames } from "@sealbook/contract/corrective-actions";
import type { ReportBody, StandardLine } from "@sealbook/contract/reports";
import { groupedBy } from "@sealbook/metrology/grouped-by";
import type { DecidedLot } from "@sealbook/metrology/reports/lot-lines";
import { lotEvaluationSchema } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { lotPlanSchema } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import type { Source } from "../../platform/transaction.ts";
import { standardStatusOn } from "../standards/standards.ts";
import type { TestsOfReport } from "./read-tests.ts";

/** The types that meters of this moment have, as a report names them. */
export async function findTypes(source: Source): Promise<ReportBody["types"]> {
  return await source.query<ReportBody["types"][number]>(
    "SELECT id, maker, model, form, phases, technology FROM meter_type ORDER BY maker, model, form, id",
  );
}

interface LotRow {
  id: string;
  number: string;
  kind: "shipment" | "in-service";
  title: string;
  maker: string | null;
  model: string | null;
  size: number;
  scheme: string;
  series: string;
  decided_on: string;
  approved_on: string | null;
  outcome: DecidedLot["outcome"];
  disposition: string | null;
  plan: string;
  evaluation: string;
  before_number: string | null;
  before_evaluation: string | null;
}

interface TestedRow {
  lot_id: string;
  performed_on: string;
  previous_on: string | null;
  purchase_year: number | null;
  average: string | null;
}

/**
 * Lots that were decided in a period, by number. A lot belongs to the jurisdiction whose scheme it was planned under: a
 * scheme names it, and one that names none serves the shop's home.
 */
export async function findDecidedLots(source: Source, report: TestsOfReport): Promise<DecidedLot[]> {
  const values = [report.from, report.to, report.timeZone, report.cutoff, report.profileKey];
  const rows = await source.query<LotRow>(
    `SELECT l.id, l.number, l.kind, l.title, l.size, s.code || ' ' || s.revision AS scheme, l.series,
       (k.decided_at AT TIME ZONE $3)::date AS decided_on, (a.signed_at AT TIME ZONE $3)::date AS approved_on, k.outcome,
       l.disposition, p.body AS plan, k.evaluation, b.number AS before_number, b.evaluation AS before_evaluation,
       string_agg(DISTINCT y.maker, ', ' ORDER BY y.maker) AS maker, string_agg(DISTINCT y.model, ', ' ORDER BY y.model) AS model
     FROM decision k JOIN lot l ON l.id = k.lot_id JOIN sampling_scheme s ON s.id = l.scheme_id JOIN lot_plan p ON p.lot_id = l.id
     LEFT JOIN approval a ON a.decision_id = k.id AND a.signed_at <= $4
     LEFT JOIN LATERAL (
       SELECT o.number, d.evaluation FROM lot o JOIN decision d ON d.lot_id = o.id
       WHERE o.series = l.series AND o.scheme_code = l.scheme_code AND o.id <> l.id AND d.decided_at < k.decided_at
       ORDER BY d.decided_at DESC, o.id DESC LIMIT 1
     ) b ON true
     LEFT JOIN decision_test dt ON dt.decision_id = k.id AND dt.counted
     LEFT JOIN meter m ON m.id = dt.meter_id LEFT JOIN meter_type y ON y.id = m.type_id
     WHERE k.decided_at >= $1::date::timestamp AT TIME ZONE $3 AND k.decided_at < ($2::date + 1)::timestamp AT TIME ZONE $3
       AND k.decided_at <= $4
       AND coalesce(s.body::json ->> 'jurisdiction', (SELECT home_jurisdiction FROM shop)) = $5
     GROUP BY l.id, k.id, s.id, p.lot_id, a.id, b.number, b.evaluation
     ORDER BY l.number, l.id`,
    values,
  );
  const tested = groupedBy(
    await findTestedMeters(
      source,
      rows.map(({ id }) => id),
      report,
    ),
    ({ lot_id }) => lot_id,
  );
  return rows.map(
    (row): DecidedLot => ({
      id: row.id,
      number: row.number,
      kind: row.kind,
      title: row.title,
      maker: row.maker ?? "",
      model: row.model ?? "",
      size: row.size,
      scheme: row.scheme,
      series: row.series,
      decidedOn: row.decided_on,
      approvedOn: row.approved_on,
      outcome: row.outcome,
      disposition: row.disposition,
      plan: lotPlanSchema.parse(JSON.parse(row.plan)),
      evaluation: lotEvaluationSchema.parse(JSON.parse(row.evaluation)),
      before:
        row.before_number === null || row.before_evaluation === null
          ? null
          : {
              number: row.before_number,
              evaluation: lotEvaluationSchema.parse(JSON.parse(row.before_evaluation)),
            },
      tested: (tested.get(row.id) ?? []).map((test) => ({
        performedOn: test.performed_on,
        previousOn: test.previous_on,
        purchaseYear: test.purchase_year,
        average: test.average,
      })),
    }),
  );
}

/** The tests that count in lots, with the meter's test before. */
async function findTestedMeters(
  source: Source,
  lotIds: readonly string[],
  { timeZone, cutoff }: TestsOfReport,
): Promise<TestedRow[]> {
  return await source.query<TestedRow>(
    `SELECT k.lot_id, (t.performed_at AT TIME ZONE $2)::date AS performed_on, (b.performed_at AT TIME ZONE $2)::date AS previous_on,
       extract(year FROM m.purchased_on)::int AS purchase_year, t.average_as_found::text AS average
     FROM decision k JOIN decision_test dt ON dt.decision_id = k.id AND dt.counted
     JOIN meter_test t ON t.id = dt.test_id JOIN meter m ON m.id = dt.meter_id
     LEFT JOIN LATERAL (
       SELECT o.performed_at FROM meter_test o
       WHERE o.meter_id = t.meter_id AND o.performed_at < t.performed_at AND o.outcome = 'tested' AND o.recorded_at <= $3
         AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = o.id AND n.recorded_at <= $3)
       ORDER BY o.performed_at DESC, o.id LIMIT 1
     ) b ON true
     WHERE k.lot_id = ANY($1) ORDER BY k.lot_id, dt.place, dt.test_id`,
    [lotIds, timeZone, cutoff],
  );
}

/** Corrective actions that were open in the period or done in it, of the report's lots and of earlier ones. */
export async function findActions(source: Source, report: TestsOfReport): Promise<ReportBody["actions"]> {
  const rows = await source.query<{
    id: string;
    lot_number: string;
    kind: keyof typeof correctiveActionNames;
    detail: string;
    due_on: string;
    done_on: string | null;
  }>(
    `SELECT c.id, l.number AS lot_number, c.kind, c.detail, c.due_on, c.done_on
     FROM corrective_action c JOIN lot l ON l.id = c.lot_id JOIN sampling_scheme s ON s.id = l.scheme_id
     JOIN decision k ON k.lot_id = l.id
     WHERE k.decided_at < ($2::date + 1)::timestamp AT TIME ZONE $3 AND (c.done_on IS NULL OR c.done_on >= $1)
       AND coalesce(s.body::json ->> 'jurisdiction', (SELECT home_jurisdiction FROM shop)) = $4
     ORDER BY c.due_on, c.id`,
    [report.from, report.to, report.timeZone, report.profileKey],
  );
  return rows.map((row) => ({
    id: row.id,
    lotNumber: row.lot_number,
    kind: correctiveActionNames[row.kind],
    detail: row.detail,
    dueOn: row.due_on,
    doneOn: row.done_on,
    overdue: row.due_on <= report.to && (row.done_on === null || row.done_on > row.due_on),
  }));
}

interface StandardRow {
  id: string;
  designation: string;
  rank: "reference" | "working";
  maker: string;
  model: string;
  serial: string;
  withdrawn: boolean;
  calibrated_on: string | null;
  due_on: string | null;
  certificate_number: string | null;
}

/**
 * Standards as they stood on the last day of the period, with the tests of the report that leaned on each.
 *
 * @param testsOf   tests of the report by standard
 * @param pastDue   of those, tests performed after the due date of the calibration that they leaned on, by standard
 */
export async function findStandardLines(
  source: Source,
  report: TestsOfReport,
  testsOf: ReadonlyMap<string, number>,
  pastDue: ReadonlyMap<string, number>,
): Promise<StandardLine[]> {
  const rows = await source.query<StandardRow>(
    `SELECT s.id, s.designation, s.rank, s.maker, s.model, s.serial, s.withdrawn, c.calibrated_on, c.due_on, c.certificate_number
     FROM standard s LEFT JOIN LATERAL (
       SELECT c.calibrated_on, c.due_on, c.certificate_number FROM calibration c
       WHERE c.standard_id = s.id AND c.calibrated_on <= $1 AND c.recorded_at <= $2
         AND NOT EXISTS (SELECT FROM calibration n WHERE n.supersedes_id = c.id AND n.recorded_at <= $2)
       ORDER BY c.calibrated_on DESC, c.recorded_at DESC, c.id DESC LIMIT 1
     ) c ON true
     ORDER BY s.designation`,
    [report.to, report.cutoff],
  );
  return rows.map((row) => {
    const status = standardStatusOn(report.to, { withdrawn: row.withdrawn, dueOn: row.due_on });
    const tests = testsOf.get(row.id) ?? 0;
    const late = pastDue.get(row.id) ?? 0;
    return {
      id: row.id,
      designation: row.designation,
      rank: row.rank,
      maker: row.maker,
      model: row.model,
      serial: row.serial,
      status,
      calibratedOn: row.calibrated_on,
      dueOn: row.due_on,
      certificateNumber: row.certificate_number,
      tests,
      exceptions: [
        ...(status === "overdue" ? [`Its calibration was overdue since ${row.due_on}.`] : []),
        ...(status === "never-calibrated" ? ["It had no calibration on record."] : []),
        ...(late === 0
          ? []
          : [`${late === 1 ? "1 test was" : `${late} tests were`} performed after its calibration was due.`]),
      ],
    };
  });
}

/** Due dates of calibrations, by id. */
export async function findDueDates(source: Source): Promise<Map<string, string>> {
  const rows = await source.query<{ id: string; due_on: string }>("SELECT id, due_on FROM calibration");
  return new Map(rows.map(({ id, due_on }) => [id, due_on]));
}

/** Rows of bench files that were set aside in runs that ended in the period, by reason. */
export async function findSetAsideRows(
  source: Source,
  report: TestsOfReport,
): Promise<ReportBody["setAsideRows"]> {
  return await source.query<ReportBody["setAsideRows"][number]>(
    `SELECT p.code, min(p.detail) AS detail, count(DISTINCT (p.import_id, p.row_number))::int AS rows,
       count(DISTINCT p.import_id)::int AS imports
     FROM import_problem p JOIN import i ON i.id = p.import_id
     WHERE i.state IN ('done', 'cancelled', 'failed') AND i.finished_at <= $4
       AND i.finished_at >= $1::date::timestamp AT TIME ZONE $3 AND i.finished_at < ($2::date + 1)::timestamp AT TIME ZONE $3
     GROUP BY p.code ORDER BY p.code`,
    [report.from, report.to, report.timeZone, report.cutoff],
  );
}
