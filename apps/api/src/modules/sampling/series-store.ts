import type { LotOutcome, LotState } from "@sealbook/contract/lot-terms";
import type { Source, Tx } from "../../platform/transaction.ts";
import { nameOf } from "./name-of.ts";

export interface SeriesLotRow {
  id: string;
  number: string;
  title: string;
  inherits: string;
  resubmits_id: string | null;
  second_try_of_id: string | null;
  state: LotState;
  created_at: Date;
  outcome: LotOutcome | null;
  steady: boolean | null;
  reduced_approved: boolean | null;
  evaluation: string | null;
  decided_at: Date | null;
  decider_id: string | null;
  decider_name: string | null;
}

/** Lots of a series under a scheme, oldest first; each decision without its readings. */
export async function findSeriesLots(
  source: Source,
  series: string,
  schemeCode: string,
): Promise<SeriesLotRow[]> {
  return await source.query<SeriesLotRow>(
    `SELECT l.id, l.number, l.title, l.inherits, l.resubmits_id, l.second_try_of_id, l.state, l.created_at, k.outcome, k.steady, k.reduced_approved,
       k.decided_at, k.actor_id AS decider_id, p.value AS decider_name,
       (SELECT json_agg(json_build_object('characteristic', c ->> 'characteristic', 'outcome', c ->> 'outcome',
          'nonconforming', (c ->> 'nonconforming')::int, 'counted', (c ->> 'counted')::int))::text
        FROM jsonb_array_elements(k.evaluation::jsonb -> 'characteristics') c) AS evaluation
     FROM lot l LEFT JOIN decision k ON k.lot_id = l.id ${nameOf("k.actor_id", "p")}
     WHERE l.series = $1 AND l.scheme_code = $2 AND l.state <> 'withdrawn' ORDER BY l.created_at, l.id`,
    [series, schemeCode],
  );
}

export interface SwitchingEventRow {
  characteristic: string | null;
  kind: "irregular" | "corrective-action" | "directed";
  severity: "normal" | "tightened" | "reduced" | null;
  reason: string;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
}

export async function findSwitchingEvents(
  source: Source,
  series: string,
  schemeCode: string,
): Promise<SwitchingEventRow[]> {
  return await source.query<SwitchingEventRow>(
    `SELECT w.characteristic, w.kind, w.severity, w.reason, w.recorded_at, w.actor_id, p.value AS actor_name
     FROM switching_event w ${nameOf("w.actor_id", "p")} WHERE w.series = $1 AND w.scheme_code = $2
     ORDER BY w.recorded_at, w.id`,
    [series, schemeCode],
  );
}

export async function insertSwitchingEvent(
  tx: Tx,
  event: {
    id: string;
    series: string;
    schemeCode: string;
    characteristic: string | null;
    kind: string;
    severity: string | null;
    reason: string;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO switching_event (id, series, scheme_code, characteristic, kind, severity, reason, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [
      event.id,
      event.series,
      event.schemeCode,
      event.characteristic,
      event.kind,
      event.severity,
      event.reason,
      entryId,
    ],
  );
}
