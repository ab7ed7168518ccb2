import type { StoryEvent, StoryItem } from "@sealbook/contract/meter-events";
import type { MeterEventKind, Verdict } from "@sealbook/contract/meters";
import type { Place } from "@sealbook/contract/places";
import type { TestReason } from "@sealbook/contract/work-items";
import { personRef } from "../../platform/person-ref.ts";
import { erasedText } from "../../platform/personal-values.ts";
import { placeFullName } from "../../platform/place-words.ts";
import type { Source } from "../../platform/transaction.ts";
import { textsIn } from "./event-store.ts";

interface StoryKey {
  kind: StoryItem["kind"];
  id: string;
  at: Date;
}

/**
 * What happened to a meter, newest first, then by id: events, tests that count, holds placed and lifted. Each part is
 * cut to the page by its own index before they are put together.
 */
export async function findStoryKeys(
  source: Source,
  meterId: string,
  page: { after: [string, string] | null; limit: number },
): Promise<StoryKey[]> {
  const part = (kind: string, from: string, at: string, id: string, where: string) =>
    `(SELECT '${kind}' AS kind, ${id} AS id, ${at} AS at FROM ${from}
      WHERE ${where} AND ($2::timestamptz IS NULL OR (${at}, ${id}) < ($2, $3::uuid)) ORDER BY ${at} DESC, ${id} DESC LIMIT $4)`;
  return await source.query<StoryKey & Record<string, unknown>>(
    `SELECT kind, id, at FROM (
       ${part("event", "meter_event v", "v.performed_at", "v.id", "v.meter_id = $1")} UNION ALL
       ${part(
         "test",
         "meter_test t",
         "t.performed_at",
         "t.id",
         "t.meter_id = $1 AND t.outcome <> 'withdrawn' AND NOT EXISTS (SELECT FROM meter_test s WHERE s.supersedes_id = t.id)",
       )} UNION ALL
       ${part("hold", "meter_hold h", "h.recorded_at", "h.id", "h.meter_id = $1")} UNION ALL
       ${part("lift", "meter_hold_lift l JOIN meter_hold h ON h.id = l.hold_id", "l.recorded_at", "l.hold_id", "h.meter_id = $1")}
     ) story ORDER BY at DESC, id DESC, kind LIMIT $4`,
    [meterId, page.after?.[0] ?? null, page.after?.[1] ?? null, page.limit],
  );
}

interface EventRow {
  id: string;
  kind: MeterEventKind;
  performed_at: Date;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  place_id: string | null;
  place_kind: Place["kind"];
  place_name: string;
  point_number: string | null;
  point_address: string | null;
  point_area: string;
  point_jurisdiction: string;
  register_reading: string | null;
  reading_note: StoryEvent["readingNote"];
  reason: string;
  move_id: string | null;
  move_meters: number;
  seals_on: string[];
  seals_off: string[];
  takes_back_id: string | null;
  takes_back_kind: MeterEventKind;
  takes_back_at: Date;
  back_id: string | null;
  back_at: Date;
  back_reason: string;
  back_actor_id: string | null;
  back_actor_name: string | null;
  entry_id: string;
}

/** Events of these ids with all that their sentences say. */
export async function findStoryEvents(source: Source, ids: readonly string[]): Promise<StoryEvent[]> {
  const seals = (change: string) =>
    `ARRAY(SELECT c.number FROM seal_change c WHERE c.event_id = v.id AND c.change = '${change}' ORDER BY c.number)`;
  const rows = await source.query<EventRow>(
    `SELECT v.id, v.kind, v.performed_at, v.recorded_at, v.actor_id, n.value AS actor_name, v.place_id, p.kind AS place_kind,
       ${placeFullName("p")} AS place_name, s.number AS point_number, sa.value AS point_address, s.area AS point_area,
       s.jurisdiction AS point_jurisdiction, v.register_reading::text, v.reading_note, v.reason, v.move_id, mv.meters AS move_meters,
       ${seals("on")} AS seals_on, ${seals("off")} AS seals_off,
       o.id AS takes_back_id, o.kind AS takes_back_kind, o.performed_at AS takes_back_at,
       b.id AS back_id, b.performed_at AS back_at, b.reason AS back_reason, b.actor_id AS back_actor_id, bn.value AS back_actor_name,
       v.entry_id
     FROM meter_event v
     LEFT JOIN account a ON a.id = v.actor_id LEFT JOIN personal_value n ON n.id = a.name_id
     LEFT JOIN place p ON p.id = v.place_id
     LEFT JOIN service_point s ON s.id = v.place_id LEFT JOIN personal_value sa ON sa.id = s.address_id
     LEFT JOIN meter_move mv ON mv.id = v.move_id
     LEFT JOIN meter_event o ON o.id = v.takes_back_id
     LEFT JOIN meter_event b ON b.takes_back_id = v.id
     LEFT JOIN account ba ON ba.id = b.actor_id LEFT JOIN personal_value bn ON bn.id = ba.name_id
     WHERE v.id = ANY ($1)`,
    [ids],
  );
  return rows.map((row) => ({
    kind: "event" as const,
    id: row.id,
    at: row.performed_at.toISOString(),
    event: row.kind,
    recordedAt: row.recorded_at.toISOString(),
    by: personRef(row.actor_id, row.actor_name),
    place: row.place_id === null ? null : { id: row.place_id, kind: row.place_kind, name: row.place_name },
    servicePoint:
      row.place_id === null || row.point_number === null
        ? null
        : {
            id: row.place_id,
            number: row.point_number,
            address: row.point_address ?? erasedText,
            area: row.point_area,
            jurisdiction: row.point_jurisdiction,
          },
    registerReading: row.register_reading,
    readingNote: row.reading_note,
    sealsOn: row.seals_on,
    sealsOff: row.seals_off,
    reason: row.reason,
    move: row.move_id === null ? null : { id: row.move_id, meters: row.move_meters },
    takesBack:
      row.takes_back_id === null
        ? null
        : { id: row.takes_back_id, kind: row.takes_back_kind, at: row.takes_back_at.toISOString() },
    takenBackBy:
      row.back_id === null
        ? null
        : {
            id: row.back_id,
            at: row.back_at.toISOString(),
            by: personRef(row.back_actor_id, row.back_actor_name),
            reason: row.back_reason,
          },
    entryId: row.entry_id,
  }));
}

/** Tests of these ids with what their sentences say, as found by the first point of each role. */
export async function findStoryTests(source: Source, ids: readonly string[]): Promise<StoryItem[]> {
  const point = (role: string) =>
    `(SELECT q.registration_percent::text FROM meter_test_point q WHERE q.test_id = t.id AND q.pass = 'as-found' AND q.role = '${role}'
      ORDER BY q.ordinal LIMIT 1)`;
  const rows = await source.query<{
    id: string;
    performed_at: Date;
    outcome: "tested" | "no-test-possible";
    reasons: TestReason[];
    verdict_as_found: Verdict;
    verdict_as_left: Verdict | null;
    average_as_found: string | null;
    average_as_left: string | null;
    full_load: string | null;
    light_load: string | null;
    tester_id: string;
    tester_name: string | null;
    seals_on: string[];
    seals_off: string[];
    register_reading: string | null;
    entry_id: string;
  }>(
    `SELECT t.id, t.performed_at, t.outcome, t.reasons, t.verdict_as_found, t.verdict_as_left, t.average_as_found::text,
       t.average_as_left::text, ${point("full-load")} AS full_load, ${point("light-load")} AS light_load, t.tester_id,
       n.value AS tester_name, ${textsIn("t.entry_body", "sealsApplied")} AS seals_on,
       ${textsIn("t.entry_body", "sealsRemoved")} AS seals_off, t.entry_body::jsonb ->> 'readingAfter' AS register_reading, t.entry_id
     FROM meter_test t JOIN account a ON a.id = t.tester_id LEFT JOIN personal_value n ON n.id = a.name_id
     WHERE t.id = ANY ($1)`,
    [ids],
  );
  return rows.map((row) => ({
    kind: "test" as const,
    id: row.id,
    at: row.performed_at.toISOString(),
    outcome: row.outcome,
    reasons: row.reasons,
    asFound: row.verdict_as_found,
    asLeft: row.verdict_as_left,
    registrations: { average: row.average_as_found, fullLoad: row.full_load, lightLoad: row.light_load },
    averageAsLeft: row.average_as_left,
    by: personRef(row.tester_id, row.tester_name),
    sealsOn: row.seals_on,
    sealsOff: row.seals_off,
    registerReading: row.register_reading,
    entryId: row.entry_id,
  }));
}

export async function findStoryHolds(source: Source, ids: readonly string[]): Promise<StoryItem[]> {
  const rows = await source.query<{
    kind: "hold" | "lift";
    id: string;
    at: Date;
    actor_id: string | null;
    actor_name: string | null;
    reason: string;
    entry_id: string;
  }>(
    `SELECT h.*, n.value AS actor_name FROM (
       SELECT 'hold' AS kind, id, recorded_at AS at, actor_id, reason, entry_id FROM meter_hold WHERE id = ANY ($1)
       UNION ALL SELECT 'lift', hold_id, recorded_at, actor_id, reason, entry_id FROM meter_hold_lift WHERE hold_id = ANY ($1)
     ) h LEFT JOIN account a ON a.id = h.actor_id LEFT JOIN personal_value n ON n.id = a.name_id`,
    [ids],
  );
  return rows.map((row) => ({
    kind: row.kind,
    id: row.id,
    at: row.at.toISOString(),
    by: personRef(row.actor_id, row.actor_name),
    reason: row.reason,
    entryId: row.entry_id,
  }));
}
