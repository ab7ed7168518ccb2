import type { drawEventKinds } from "@sealbook/contract/follow-up";
import type { TestReason } from "@sealbook/contract/work-items";
import { erasedText } from "../../platform/personal-values.ts";
import type { Source } from "../../platform/transaction.ts";
import { nameOf } from "./name-of.ts";

export interface UnitRow {
  position: number;
  spare: boolean;
  meter_id: string;
  utility_number: string;
  serial: string;
  service_point: string | null;
  area: string | null;
  address: string | null;
  work_item_id: string | null;
}

export async function findUnits(source: Source, drawId: string): Promise<UnitRow[]> {
  return await source.query<UnitRow>(
    `SELECT u.position, u.spare, u.meter_id, m.utility_number, m.serial, sp.number AS service_point, sp.area,
       CASE WHEN sp.id IS NULL THEN NULL ELSE coalesce(v.value, $2) END AS address,
       (SELECT w.id FROM work_item w WHERE w.draw_id = u.draw_id AND w.meter_id = u.meter_id AND w.closed_reason IS NULL
        ORDER BY w.id LIMIT 1) AS work_item_id
     FROM draw_unit u JOIN meter m ON m.id = u.meter_id LEFT JOIN service_point sp ON sp.id = m.place_id
     LEFT JOIN personal_value v ON v.id = sp.address_id
     WHERE u.draw_id = $1 ORDER BY u.position`,
    [drawId, erasedText],
  );
}

export interface UnitEventRow {
  position: number;
  id: string;
  kind: (typeof drawEventKinds)[number];
  reason: string | null;
  note: string;
  place: number | null;
  ordinal: number;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  taken_back_at: Date | null;
  taken_back_reason: string | null;
  taken_back_by: string | null;
  taken_back_name: string | null;
}

/** Events of a draw in the order of recording, each with what took it back. */
export async function findDrawEvents(source: Source, drawId: string): Promise<UnitEventRow[]> {
  return await source.query<UnitEventRow>(
    `SELECT v.position, v.id, v.kind, v.reason, v.note, v.place, v.ordinal, v.recorded_at, v.actor_id, p.value AS actor_name,
       b.recorded_at AS taken_back_at, b.note AS taken_back_reason, b.actor_id AS taken_back_by, q.value AS taken_back_name
     FROM draw_event v LEFT JOIN draw_event b ON b.takes_back_id = v.id
     ${nameOf("v.actor_id", "p")} ${nameOf("b.actor_id", "q")}
     WHERE v.draw_id = $1 AND v.kind <> 'taken-back' ORDER BY v.ordinal`,
    [drawId],
  );
}

export interface UnitTestRow {
  id: string;
  meter_id: string;
  performed_at: Date;
  outcome: "tested" | "no-test-possible";
  untestable_reason: string | null;
  verdict: "pass" | "fail" | "incomplete" | "no-test-possible";
  average: string | null;
  tester_id: string;
  tester_name: string | null;
  full_load: string | null;
  light_load: string | null;
  power_factor: string | null;
}

/** Current tests of a draw's meters after the draw with the lot's reason: each meter's first one counts. */
export async function findUnitTests(
  source: Source,
  draw: { id: string; drawnAt: string },
  reason: TestReason,
): Promise<UnitTestRow[]> {
  return await source.query<UnitTestRow>(
    `SELECT t.id, t.meter_id, t.performed_at, t.outcome, t.untestable_reason, t.verdict_as_found AS verdict,
       t.average_as_found::text AS average, t.tester_id, p.value AS tester_name, r.full_load, r.light_load, r.power_factor
     FROM draw_unit u JOIN meter_test t ON t.meter_id = u.meter_id ${nameOf("t.tester_id", "p")}
     LEFT JOIN LATERAL (
       SELECT max(g.registration_percent) FILTER (WHERE g.role = 'full-load')::text AS full_load,
         max(g.registration_percent) FILTER (WHERE g.role = 'light-load')::text AS light_load,
         max(g.registration_percent) FILTER (WHERE g.role = 'power-factor')::text AS power_factor
       FROM meter_test_point g WHERE g.test_id = t.id AND g.pass = 'as-found'
     ) r ON true
     WHERE u.draw_id = $1 AND t.performed_at >= $2 AND $3 = ANY (t.reasons) AND t.outcome <> 'withdrawn'
       AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
     ORDER BY t.performed_at, t.id`,
    [draw.id, draw.drawnAt, reason],
  );
}

/** When each meter of a draw was last tested before it. */
export async function findTestsBefore(
  source: Source,
  draw: { id: string; drawnAt: string },
): Promise<{ meter_id: string; performed_at: Date }[]> {
  return await source.query(
    `SELECT u.meter_id, max(t.performed_at) AS performed_at FROM draw_unit u JOIN meter_test t ON t.meter_id = u.meter_id
     WHERE u.draw_id = $1 AND t.performed_at < $2 AND t.outcome = 'tested'
       AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
     GROUP BY u.meter_id`,
    [draw.id, draw.drawnAt],
  );
}
