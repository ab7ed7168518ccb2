import type { lotSchema } from "@sealbook/contract/sampling";
import { lotPlanSchema } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import { samplingSchemeSchema } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import type { z } from "zod";
import { personRef } from "../../platform/person-ref.ts";
import type { Source } from "../../platform/transaction.ts";
import { findActionsOfLot } from "./action-store.ts";
import { findDecision } from "./decision-store.ts";
import { findDrawLists } from "./draw-store.ts";
import { type LotListRow, lotListSelect, seriesListSchema, toLotRow } from "./lot-store.ts";
import { nameOf } from "./name-of.ts";

interface WholeLotRow {
  purchase_order: string;
  received_on: string | null;
  note: string;
  inherits: string;
  maker_results: number;
  scheme_body: string;
  planned_at: Date | null;
  planner_id: string | null;
  planner_name: string | null;
  plan_entry_id: string | null;
  resubmitted_by_id: string | null;
  second_try_id: string | null;
  version: number;
  entry_id: string;
}

/** A lot with the lot that tries it again; what today allows is for the use cases to say. */
export type WholeLot = Omit<z.infer<typeof lotSchema>, "hindrances" | "secondTry"> & {
  secondTryId: string | null;
};
export async function findWholeLot(source: Source, id: string): Promise<WholeLot | null> {
  const [listRow] = await source.query<LotListRow>(`${lotListSelect} WHERE l.id = $1`, [id]);
  if (listRow === undefined) return null;
  const [row] = await source.query<WholeLotRow>(
    `SELECT l.purchase_order, l.received_on, l.note, l.inherits, s.body AS scheme_body, p.recorded_at AS planned_at,
       p.actor_id AS planner_id, v.value AS planner_name, p.entry_id AS plan_entry_id, l.version, l.entry_id,
       (SELECT count(*)::int FROM maker_result r WHERE r.lot_id = l.id) AS maker_results,
       (SELECT o.id FROM lot o WHERE o.resubmits_id = l.id) AS resubmitted_by_id,
       (SELECT o.id FROM lot o WHERE o.second_try_of_id = l.id AND o.state <> 'withdrawn') AS second_try_id
     FROM lot l JOIN sampling_scheme s ON s.id = l.scheme_id LEFT JOIN lot_plan p ON p.lot_id = l.id ${nameOf("p.actor_id", "v")}
     WHERE l.id = $1`,
    [id],
  );
  if (row === undefined) return null;
  const lists = await findDrawLists(source, id);
  return {
    ...toLotRow(listRow),
    schemeBody: samplingSchemeSchema.parse(JSON.parse(row.scheme_body)),
    purchaseOrder: row.purchase_order,
    receivedOn: row.received_on,
    note: row.note,
    inherits: seriesListSchema.parse(JSON.parse(row.inherits)),
    makerResults: row.maker_results,
    plan: listRow.plan === null ? null : lotPlanSchema.parse(JSON.parse(listRow.plan)),
    plannedAt: row.planned_at?.toISOString() ?? null,
    plannedBy: personRef(row.planner_id, row.planner_name),
    planEntryId: row.plan_entry_id,
    lists: lists.map(({ lotId: _, ...list }) => list),
    decision: await findDecision(source, id),
    actions: await findActionsOfLot(source, id),
    resubmittedById: row.resubmitted_by_id,
    secondTryId: row.second_try_id,
    version: row.version,
    entryId: row.entry_id,
  };
}
