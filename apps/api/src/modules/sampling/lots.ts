import type { Lot, LotRow } from "@sealbook/contract/sampling";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { inDecimals } from "@sealbook/metrology/in-decimals";
import { planLot, type SeveritiesOfLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { listHash } from "@sealbook/metrology/sampling/draw/list-hash";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import type { Actor, Source, Tx } from "../../platform/transaction.ts";
import { hindrancesOf } from "./hindrances-of.ts";
import {
  countLots,
  countMembers,
  findLots,
  findMembers,
  insertLot,
  insertMembers,
  insertPlanOfLot,
  type LockedLot,
  lockLot,
  type NewLot,
  updateLot,
} from "./lot-store.ts";
import { makerResultSchema } from "./maker-result.ts";
import { findScheme } from "./scheme-store.ts";
import { secondTryOf } from "./second-try-of.ts";
import { severitiesOf } from "./series.ts";
import { findWholeLot } from "./whole-lot.ts";

export async function listLots(
  database: Database,
  query: {
    cursor?: string | undefined;
    limit: number;
    kind?: string | undefined;
    state?: string | undefined;
    series?: string | undefined;
    programmeId?: string | undefined;
    q?: string | undefined;
  },
): Promise<{ rows: LotRow[]; next: string | null }> {
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 2).map(String);
  const rows = await findLots(reading(database), {
    kind: query.kind ?? null,
    state: query.state ?? null,
    series: query.series ?? null,
    programmeId: query.programmeId ?? null,
    part: query.q?.trim() || null,
    after: key === null ? null : { createdAt: key[0] ?? "", id: key[1] ?? "" },
    limit: query.limit + 1,
  });
  return toPage(rows, query.limit, (row) => [row.createdAt, row.id]);
}

/** A lot, whole, as this person sees it. */
export async function getLot(source: Source, id: string, actor: Actor | null): Promise<Lot> {
  const found = await findWholeLot(source, id);
  if (found === null) throw notFound("lot");
  const { secondTryId, ...lot } = found;
  const { decision } = lot;
  return {
    ...lot,
    secondTry: await secondTryOf(source, found),
    hindrances:
      decision === null || decision.approval !== null || actor === null
        ? []
        : await hindrancesOf(source, decision.id, actor),
  };
}

export async function listLotMembers(
  database: Database,
  lotId: string,
  query: { cursor?: string | undefined; limit: number },
) {
  const source = reading(database);
  if ((await findWholeLot(source, lotId)) === null) throw notFound("lot");
  const after =
    query.cursor === undefined ? null : (fromCursor(query.cursor, 2).map(String) as [string, string]);
  const rows = await findMembers(source, lotId, { after, limit: query.limit + 1 });
  return toPage(
    rows.map((row) => ({
      meterId: row.meter_id,
      utilityNumber: row.utility_number,
      serial: row.serial,
      maker: row.maker,
      model: row.model,
      makerResult: row.results === null ? [] : makerResultSchema.parse(JSON.parse(row.results)),
    })),
    query.limit,
    (row) => [row.utilityNumber, row.meterId],
  );
}

export async function schemeOf(source: Source, id: string): Promise<Scheme> {
  const scheme = await findScheme(source, id);
  if (scheme === null) throw notFound("sampling scheme");
  return scheme;
}

/** How far the lots of programmes have come, by programme. */
export async function countsOfProgrammes(source: Source, ids: readonly string[]) {
  return await countLots(source, ids);
}

/** Opens a lot; its meters follow. */
export async function openLot(tx: Tx, lot: NewLot): Promise<void> {
  const { id, ...payload } = lot;
  const entryId = await writeEntry(tx, {
    action: "lot.create",
    subjectType: "lot",
    subjectId: id,
    payload: { ...payload, inherits: [...lot.inherits] },
  });
  try {
    await insertLot(tx, lot, entryId);
  } catch (error) {
    if (isUniqueViolation(error, "lot_second_try")) {
      throw new ProblemError("already-exists", "This group is being tried a second time already.");
    }
    if (isUniqueViolation(error, "lot_resubmits_id_key")) {
      throw new ProblemError("already-exists", "This lot was resubmitted already.");
    }
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", `Lot number ${lot.number} is taken; choose another.`, {
      errors: [{ pointer: "/number", detail: "This number is taken." }],
    });
  }
}

/** Puts meters into a lot that is still forming. The lot is locked by the caller; the meters are in no other open lot. */
export async function addMembers(
  tx: Tx,
  lotId: string,
  meterIds: readonly string[],
  details: { readonly [key: string]: string | number } = {},
): Promise<{ members: number; entryId: string }> {
  const entryId = await writeEntry(tx, {
    action: "lot.addMeters",
    subjectType: "lot",
    subjectId: lotId,
    // Which they are stands in the rows that name this entry; their hash here fixes them, however many.
    payload: { meters: meterIds.length, meterIdsHash: listHash([...meterIds].sort()), ...details },
  });
  await insertMembers(tx, lotId, meterIds, entryId);
  const members = await countMembers(tx, lotId);
  await updateLot(tx, lotId, { size: members }, entryId);
  return { members, entryId };
}

/** Locks a lot and checks that it stands where a step begins. */
export async function lockLotIn(
  tx: Tx,
  id: string,
  states: readonly LockedLot["state"][],
  sentence: string,
  version: number | null = null,
): Promise<LockedLot> {
  const lot = await lockLot(tx, id);
  if (lot === null) throw notFound("lot");
  if (version !== null && lot.version !== version) {
    throw new ProblemError("stale", "This lot has moved on since you opened it.", {
      current: await getLot(tx, id, tx.actor),
    });
  }
  if (!states.includes(lot.state)) throw new ProblemError("wrong-state", sentence);
  return lot;
}

/** Fixes the meters of a lot and its plan, under the severity that its series has come to. */
export async function plan(
  tx: Tx,
  lotId: string,
  version: number | null,
  dueOn: string | null,
): Promise<Lot> {
  const lot = await lockLotIn(tx, lotId, ["forming"], "This lot is planned already.", version);
  const scheme = await schemeOf(tx, lot.schemeId);
  const severities =
    lot.secondTryOfId === null
      ? await severitiesOf(tx, { code: lot.schemeCode, body: scheme.body }, lot.series, lotId)
      : tightenedForAll(scheme.body);
  const members = await countMembers(tx, lotId);
  const planned = planLot(scheme.body, members, severities);
  if (planned.kind === "refused") throw refusedByRule("/id", planned.sentence, scheme.body.source);
  const entryId = await writeEntry(tx, {
    action: "lot.plan",
    subjectType: "lot",
    subjectId: lotId,
    payload: {
      number: lot.number,
      scheme: { id: scheme.id, code: scheme.code, revision: scheme.revision },
      series: lot.series,
      members,
      dueOn,
      plan: inDecimals(planned.plan),
    },
  });
  await insertPlanOfLot(tx, lotId, planned.plan, entryId);
  await updateLot(tx, lotId, { state: "planned", size: members, dueOn }, entryId);
  return await getLot(tx, lotId, tx.actor);
}

/** A second try is under the tightened plan whatever its series has come to, which it does not move. */
function tightenedForAll({ characteristics, source }: SamplingScheme): SeveritiesOfLot {
  const reasons = [`A second try is under tightened inspection (${source}).`];
  return Object.fromEntries(
    characteristics.map(({ characteristic }) => [characteristic, { severity: "tightened", reasons }]),
  );
}

/** Gives a lot up before its draw. */
export async function withdraw(tx: Tx, lotId: string, version: number, reason: string): Promise<Lot> {
  await lockLotIn(
    tx,
    lotId,
    ["forming", "planned", "listed"],
    "A lot that is drawn is decided, not withdrawn.",
    version,
  );
  const entryId = await writeEntry(tx, {
    action: "lot.withdraw",
    subjectType: "lot",
    subjectId: lotId,
    reason,
    payload: {},
  });
  await updateLot(tx, lotId, { state: "withdrawn" }, entryId);
  return await getLot(tx, lotId, tx.actor);
}

/** Says what came of a lot and closes it. The lot is locked and approved. */
export async function dispose(
  tx: Tx,
  lotId: string,
  disposition: NonNullable<Lot["disposition"]>,
  reason: string | null,
  details: { readonly [key: string]: string | number | readonly string[] },
): Promise<void> {
  const entryId = await writeEntry(tx, {
    action: "lot.dispose",
    subjectType: "lot",
    subjectId: lotId,
    reason,
    payload: { disposition, ...details },
  });
  await updateLot(tx, lotId, { state: "closed", disposition }, entryId);
}

/** Closes a group that was not accepted: all its corrective actions are done, and somebody says that this is enough. */
export async function closeGroup(tx: Tx, lotId: string, version: number, reason: string): Promise<Lot> {
  const { kind } = await lockLotIn(
    tx,
    lotId,
    ["approved"],
    "A group closes once its decision is approved, and once only.",
    version,
  );
  if (kind !== "in-service") {
    throw new ProblemError("wrong-state", "A shipment closes with what becomes of its meters.");
  }
  const { actions, secondTry: again } = await getLot(tx, lotId, tx.actor);
  if (again !== null && again.lotId !== null) {
    throw new ProblemError("wrong-state", "A second try of this group is under way: its outcome decides.");
  }
  const open = actions.filter(({ doneOn }) => doneOn === null);
  if (actions.length === 0) {
    throw refusedByRule("/id", "This group was not accepted and has no corrective action: set one first.");
  }
  if (open.length > 0) {
    throw refusedByRule(
      "/id",
      `Not all corrective actions are done: ${open.map(({ detail, dueOn }) => `${detail} (due ${dueOn})`).join("; ")}.`,
    );
  }
  await dispose(tx, lotId, "corrected", reason, { actions: actions.map(({ id }) => id) });
  return await getLot(tx, lotId, tx.actor);
}
