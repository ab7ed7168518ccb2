import { randomBytes } from "node:crypto";
import type { Readable } from "node:stream";
import type { DrawUnit, Lot, LotOutcome, LotRow, Scheme, SeedTerms } from "@sealbook/contract/sampling";
import { engineVersion } from "@sealbook/metrology/engine-version";
import { evaluateLot } from "@sealbook/metrology/sampling/decision/evaluate-lot";
import type { LotEvaluation } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { planLot, type SeveritiesOfLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import type { AbsenceReason, SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { secondTry } from "@sealbook/metrology/sampling/decision/second-try";
import { drawAlgorithm, drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import { listHash } from "@sealbook/metrology/sampling/draw/list-hash";
import { orderCandidates } from "@sealbook/metrology/sampling/draw/order-candidates";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { databaseTime } from "../../platform/database-time.ts";
import { inDecimals } from "../../platform/in-decimals.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { localDate } from "../../platform/local-date.ts";
import type { HeadToPrint } from "../../platform/log/head-to-print.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { type Actor, actorOf, newId, type Source, type Tx } from "../../platform/transaction.ts";
import { readTemplate, renderPdf } from "../../platform/typst.ts";
import { getFileView, keepBytes, readBytes, readFileStream } from "../files/files.ts";
import { getShop, requireOwnPassword } from "../people/people.ts";
import { closeWorkOfDraws, openWorkItems } from "../work-items/work-items.ts";
import { decisionSheetData } from "./decision-sheet-data.ts";
import { makerResultSchema } from "./maker-result.ts";
import { type Sample, sampleOf } from "./sample-of.ts";
import { severitiesOf } from "./series.ts";
import {
  countLots,
  countMembers,
  findDrawEvents,
  findDrawList,
  findDrawLists,
  findHands,
  findLots,
  findMemberNumbers,
  findMembers,
  findPlanOfLot,
  findScheme,
  findTimeZone,
  findWholeLot,
  insertApproval,
  insertDecision,
  insertDraw,
  insertDrawEvents,
  insertDrawList,
  insertLot,
  insertMembers,
  insertPlanOfLot,
  type LockedLot,
  lockLot,
  type NewDrawEvent,
  type NewLot,
  reasonOfKind,
  type StoredDrawList,
  updateLot,
  type WholeLot,
  wasSeedKnown,
} from "./store.ts";

export { addCorrectiveAction } from "./actions.ts";
export { addScheme } from "./schemes.ts";

// ---------------------------------------------------------------------------------------------------------------
// Reading

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

/** The second try that the plan of a refused lot grants, as it stands today. */
async function secondTryOf(source: Source, lot: WholeLot): Promise<Lot["secondTry"]> {
  if (lot.kind !== "in-service" || lot.decision === null) return null;
  const timeZone = await findTimeZone(source);
  const granted = secondTry(
    lot.schemeBody,
    {
      outcome: lot.decision.outcome,
      decidedOn: localDate(new Date(lot.decision.decidedAt), timeZone),
      severities: lot.severities.map(({ severity }) => severity),
      isSecondTry: lot.secondTryOfId !== null,
    },
    localDate(await databaseTime(source), timeZone),
  );
  if (granted === null) return null;
  const refusal =
    granted.refusal ??
    (lot.secondTryId !== null
      ? "It was asked for already."
      : lot.state === "decided"
        ? "It is asked for once the refusal is approved."
        : lot.state !== "approved"
          ? "This group is closed."
          : null);
  return { ...granted, refusal, lotId: lot.secondTryId };
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

/** A candidate list as it was hashed. */
export async function getCandidates(
  database: Database,
  listId: string,
): Promise<{ name: string; bytes: Readable }> {
  const list = await findDrawList(reading(database), listId);
  if (list === null) throw notFound("list");
  const file = await getFileView(reading(database), list.fileId);
  return { name: file.name, bytes: readFileStream(database, file) };
}

export async function listDrawUnits(source: Source, lotId: string): Promise<{ rows: DrawUnit[] }> {
  if ((await findWholeLot(source, lotId)) === null) throw notFound("lot");
  const found = await sampleOfLot(source, lotId);
  return { rows: found?.sample.units ?? [] };
}

const sheetTemplate = readTemplate(new URL("./decision-sheet.typ", import.meta.url));

/**
 * The decision sheet of a lot as PDF, with its number.
 *
 * @param head of the log, for its foot
 */
export async function getDecisionSheet(
  database: Database,
  lotId: string,
  head: HeadToPrint | null,
): Promise<{ number: string; pdf: Buffer }> {
  const source = reading(database);
  const lot = await getLot(source, lotId, null);
  if (lot.decision === null)
    throw new ProblemError("wrong-state", "This lot is not decided yet: it has no sheet.");
  const { rows } = await listDrawUnits(source, lotId);
  const shop = await getShop(database, new Date());
  return {
    number: lot.number,
    pdf: renderPdf(sheetTemplate, {
      ...decisionSheetData(lot, lot.decision, rows, shop),
      head: head?.line ?? null,
    }),
  };
}

/** What the results of a lot say so far; of a decided one, what it was decided on. */
export async function evaluate(source: Source, lotId: string): Promise<LotEvaluation> {
  const lot = await findWholeLot(source, lotId);
  if (lot === null) throw notFound("lot");
  if (lot.decision !== null) return lot.decision.evaluation;
  const found = await sampleOfLot(source, lotId);
  if (found === null) {
    throw new ProblemError("wrong-state", "This lot has no sample yet: publish its list and draw first.");
  }
  return found.evaluation;
}

/** The sample of a lot with what it says; null before the draw. */
async function sampleOfLot(
  source: Source,
  lotId: string,
): Promise<{ sample: Sample; evaluation: LotEvaluation; drawId: string; scheme: Scheme } | null> {
  const lot = await findWholeLot(source, lotId);
  const list = lot?.lists.at(-1);
  if (lot === null || lot.plan === null || list === undefined || list.draw === null) return null;
  const scheme = await schemeOf(source, lot.scheme.id);
  const timeZone = await findTimeZone(source);
  const today = localDate(await databaseTime(source), timeZone);
  const sample = await sampleOf(
    source,
    { kind: lot.kind, n: lot.plan.n, scheme: scheme.body },
    { id: list.draw.id, drawnAt: list.draw.drawnAt },
    today,
    timeZone,
  );
  return {
    sample,
    evaluation: evaluateLot(scheme.body, lot.plan, sample.places),
    drawId: list.draw.id,
    scheme,
  };
}

/** A revision of a scheme by its id, or null. */
export async function schemeById(source: Source, id: string): Promise<Scheme | null> {
  return await findScheme(source, id);
}

/** Severity of the next lot of a series, as far as it has lots. */
export async function nextSeverities(source: Source, scheme: Scheme, series: string) {
  return await severitiesOf(source, scheme, series, null);
}

/** How far the lots of programmes have come, by programme. */
export async function countsOfProgrammes(source: Source, ids: readonly string[]) {
  return await countLots(source, ids);
}

async function schemeOf(source: Source, id: string): Promise<Scheme> {
  const scheme = await findScheme(source, id);
  if (scheme === null) throw notFound("sampling scheme");
  return scheme;
}

// ---------------------------------------------------------------------------------------------------------------
// Forming and planning

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

// ---------------------------------------------------------------------------------------------------------------
// Lists and draws

/**
 * Publishes the candidate list of a lot: sorted, hashed, kept as a file, and its hash put into the ledger before the seed
 * exists. A second list needs a reason and stands beside the first.
 */
export async function publishList(
  tx: Tx,
  lotId: string,
  request: { id: string; seed: SeedTerms; repeats: { id: string; reason: string } | null },
): Promise<Lot> {
  const lot = await lockLotIn(
    tx,
    lotId,
    ["planned", "listed", "drawn"],
    "A list is published once the lot is planned, and no more once it is decided.",
  );
  await refuseSeedTerms(tx, request.seed);
  const lists = await findDrawLists(tx, lotId);
  const last = lists.at(-1);
  if (last === undefined && request.repeats !== null) {
    throw refusedByRule("/repeats", "This lot has no list yet that could be repeated.");
  }
  if (last !== undefined && request.repeats === null) {
    throw new ProblemError(
      "already-exists",
      "This lot has its list; a second one needs a reason and names the first.",
    );
  }
  if (last !== undefined && request.repeats?.id !== last.id) {
    throw refusedByRule("/repeats/id", "Repeat the newest list of the lot.");
  }
  const planned = await findPlanOfLot(tx, lotId);
  if (planned === null) throw new Error("a planned lot has a plan");
  const members = await findMemberNumbers(tx, lotId);
  const ordered = orderCandidates(members.map(({ utility_number }) => utility_number));
  if (ordered.kind === "refused") throw refusedByRule("/id", ordered.sentence);
  const hash = listHash(ordered.candidates);
  const ordinal = (last?.ordinal ?? 0) + 1;
  const fileId = newId();
  const fileHash = await keepBytes(tx, {
    id: fileId,
    name: `candidates ${lot.number} list ${ordinal}.txt`,
    mediaType: "text/plain",
    bytes: Buffer.from(`${ordered.candidates.join("\n")}\n`),
  });
  const { n, spares } = planned;
  const entryId = await writeEntry(tx, {
    action: "lot.list",
    subjectType: "lot",
    subjectId: lotId,
    reason: request.repeats?.reason ?? null,
    payload: {
      listId: request.id,
      number: lot.number,
      ordinal,
      algorithm: drawAlgorithm,
      listHash: hash,
      fileHash,
      candidates: ordered.candidates.length,
      n,
      spares,
      seed: request.seed,
      repeats: request.repeats?.id ?? null,
    },
  });
  try {
    await insertDrawList(
      tx,
      {
        id: request.id,
        lotId,
        ordinal,
        listHash: hash,
        candidates: ordered.candidates.length,
        fileId,
        n,
        spares,
        seed: request.seed,
        repeats: request.repeats,
      },
      entryId,
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This list is on record already.");
  }
  await updateLot(tx, lotId, { state: "listed" }, entryId);
  return await getLot(tx, lotId, tx.actor);
}

/** Terms under which a seed would prove nothing are refused. */
export async function refuseSeedTerms(source: Source, seed: SeedTerms): Promise<void> {
  if (seed.source !== "announced-number") return;
  if (seed.announcement === null || seed.announcement.trim().length < 10) {
    throw refusedByRule("/seed/announcement", "Say which number it is, who publishes it and when.");
  }
  if (seed.notBefore === null || new Date(seed.notBefore) <= (await databaseTime(source))) {
    throw refusedByRule("/seed/notBefore", "The number must be published later than now: give that time.");
  }
}

/** Draws from a published list, once, and makes the sample the technicians' work. */
export async function draw(
  tx: Tx,
  listId: string,
  request: { id: string; seed: string | null },
): Promise<Lot> {
  const found = await findDrawList(tx, listId);
  if (found === null) throw notFound("list");
  const lot = await lockLot(tx, found.lotId);
  if (lot === null) throw notFound("lot");
  const lists = await findDrawLists(tx, lot.id);
  const list = lists.at(-1);
  if (list === undefined || list.id !== listId) {
    throw new ProblemError("wrong-state", "A newer list of this lot was published: draw from that one.");
  }
  if (list.draw !== null) throw new ProblemError("already-exists", "This list was drawn from already.");
  if (lot.state !== "listed") throw new ProblemError("wrong-state", "This lot is not waiting for its draw.");
  const seed = await seedFor(tx, list.seed, request.seed);
  await refuseKnownSeed(tx, lot, list, seed);
  const candidates = (await readBytes(tx, list.fileId)).toString("utf8").split("\n").slice(0, -1);
  const drawn = drawSample({ candidates, seed, n: list.n, spares: list.spares });
  if (drawn.kind === "refused") throw refusedByRule("/seed", drawn.sentence);
  if (drawn.listHash !== list.listHash) throw new Error(`the kept list of ${listId} does not have its hash`);
  const members = new Map(
    (await findMemberNumbers(tx, lot.id)).map((row) => [row.utility_number, row.meter_id]),
  );
  const meterOf = (candidate: string): string => {
    const meterId = members.get(candidate);
    if (meterId !== undefined) return meterId;
    throw new ProblemError(
      "wrong-state",
      `The list names meter ${candidate}, which has another utility number now: give it back, or publish the list again and say why.`,
    );
  };
  const entryId = await writeEntry(tx, {
    action: "lot.draw",
    subjectType: "lot",
    subjectId: lot.id,
    payload: {
      drawId: request.id,
      listId,
      listHash: drawn.listHash,
      algorithm: drawn.algorithm,
      seed,
      key: drawn.key,
      sample: drawn.sample,
      spares: drawn.spares,
    },
  });
  const units = [
    ...drawn.sample.map((candidate) => ({ meterId: meterOf(candidate), spare: false })),
    ...drawn.spares.map((candidate) => ({ meterId: meterOf(candidate), spare: true })),
  ];
  try {
    await insertDraw(
      tx,
      { id: request.id, listId, seed, algorithm: drawn.algorithm, key: drawn.key },
      units,
      entryId,
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This list was drawn from already.");
  }
  await updateLot(tx, lot.id, { state: "drawn" }, entryId);
  const places = new Map(drawn.sample.map((candidate, index) => [meterOf(candidate), index + 1]));
  await closeWorkOfDraws(
    tx,
    lists.flatMap((earlier) => (earlier.draw === null ? [] : [earlier.draw.id])),
    (meterId) => reasonToClose(lot, list, places.get(meterId)),
  );
  await openWorkItems(
    tx,
    [...places].map(([meterId, place]) => workFor(lot, request.id, meterId, place)),
  );
  return await getLot(tx, lot.id, tx.actor);
}

/** Why work of an earlier draw is closed: nobody waits for it, or the new draw asks for the meter under its new place. */
function reasonToClose(lot: LockedLot, list: StoredDrawList, place: number | undefined): string {
  const repeated = `List ${list.ordinal} of lot ${lot.number} repeats the one before it (${list.repeatReason})`;
  return place === undefined
    ? `${repeated}, and its sample does not hold this meter.`
    : `${repeated}, and asks for this meter again as place ${place}.`;
}

function workFor(lot: LockedLot, drawId: string, meterId: string, place: number) {
  return {
    id: newId(),
    drawId,
    meterId,
    reason: reasonOfKind[lot.kind],
    dueOn: lot.dueOn,
    note: `Lot ${lot.number}, place ${place} of the sample`,
  };
}

async function seedFor(tx: Tx, terms: SeedTerms, given: string | null): Promise<string> {
  if (terms.notBefore !== null && new Date(terms.notBefore) > (await databaseTime(tx))) {
    throw refusedByRule("/seed", `The list says that its seed comes no sooner than ${terms.notBefore}.`);
  }
  if (terms.source === "system") {
    if (given !== null)
      throw refusedByRule("/seed", "The list says that the operating system gives the seed: leave it out.");
    return randomBytes(32).toString("hex");
  }
  if (given === null) {
    throw refusedByRule(
      "/seed",
      terms.source === "typed-dice" ? "Type what the dice showed." : "Type the number that was published.",
    );
  }
  return given;
}

/**
 * A seed that was on record before its list was published would let somebody choose the list by its outcome: such a seed of
 * the same programme, or of an earlier draw of the same meters, is refused.
 */
async function refuseKnownSeed(tx: Tx, lot: LockedLot, list: StoredDrawList, seed: string): Promise<void> {
  if (!(await wasSeedKnown(tx, lot, list.listedAt, seed))) return;
  throw refusedByRule(
    "/seed",
    "This seed was on record before the list was published, so it proves nothing: throw the dice again, or take a number that comes after the list.",
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Follow-up

interface FollowUp {
  id: string;
  position: number;
  kind: "asked" | "pulled" | "received" | "not-reached" | "moved" | "retired" | "left-out";
  reason: AbsenceReason | null;
  note: string;
}

/**
 * Follows sampled meters up. One that cannot be had leaves its place to the next spare where the scheme allows it for that
 * reason; otherwise the place stays empty and counts as left out.
 */
export async function recordEvents(
  tx: Tx,
  lotId: string,
  events: readonly FollowUp[],
): Promise<{
  units: DrawUnit[];
  calledUp: { position: number; place: number; utilityNumber: string }[];
  withoutSpare: number[];
}> {
  const lot = await lockLotIn(
    tx,
    lotId,
    ["drawn"],
    "Only a lot that is drawn and not yet decided is followed up.",
  );
  const found = await sampleOfLot(tx, lotId);
  if (found === null) throw new Error("a drawn lot has a sample");
  const { sample, scheme, drawId } = found;
  const units = new Map(sample.units.map((unit) => [unit.position, unit]));
  const spares = sample.units.filter(({ state }) => state === "spare");
  const rows: NewDrawEvent[] = [];
  const calledUp: { position: number; place: number; utilityNumber: string }[] = [];
  const withoutSpare: number[] = [];
  const gone = new Set<number>();
  for (const [index, event] of events.entries()) {
    const unit = units.get(event.position);
    const reason = reasonOf(event, index);
    refuseEvent(unit, event, reason, gone, scheme, index);
    rows.push({ ...event, reason, place: null, takesBackId: null });
    if (reason === null) continue;
    gone.add(event.position);
    const place = unit?.place ?? calledUp.find(({ position }) => position === event.position)?.place;
    if (place === undefined || place === null) throw new Error("a unit in the sample has a place");
    const { allowed, reasons } = scheme.body.replacement;
    const spare = allowed && reasons.includes(reason) ? spares.shift() : undefined;
    if (spare === undefined) {
      withoutSpare.push(place);
      continue;
    }
    calledUp.push({ position: spare.position, place, utilityNumber: spare.utilityNumber });
    units.set(spare.position, { ...spare, place, state: "waiting" });
    rows.push({
      id: newId(),
      position: spare.position,
      kind: "called-up",
      reason: null,
      note: `For place ${place}`,
      place,
      takesBackId: null,
    });
  }
  const entryId = await writeEntry(tx, {
    action: "lot.follow",
    subjectType: "lot",
    subjectId: lotId,
    payload: { number: lot.number, drawId, events: rows.map((row) => ({ ...row })) },
  });
  try {
    await insertDrawEvents(tx, drawId, rows, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "One of these is on record already; reload the sample.");
  }
  await openWorkItems(
    tx,
    calledUp.map(({ position, place }) => workFor(lot, drawId, units.get(position)?.meterId ?? "", place)),
  );
  const after = await sampleOfLot(tx, lotId);
  const touched = new Set(rows.map(({ position }) => position));
  return {
    units: after?.sample.units.filter(({ position }) => touched.has(position)) ?? [],
    calledUp,
    withoutSpare,
  };
}

/**
 * Takes a follow-up back that was recorded in error. A meter that had left the sample has its place again, and the spare
 * that was called up for it goes back among the spares if nothing rests on it yet.
 */
export async function takeBackEvent(
  tx: Tx,
  lotId: string,
  request: { id: string; eventId: string; reason: string },
): Promise<{ units: DrawUnit[] }> {
  const lot = await lockLotIn(
    tx,
    lotId,
    ["drawn"],
    "A follow-up is taken back only while its lot is drawn and not yet decided.",
  );
  const found = await sampleOfLot(tx, lotId);
  if (found === null) throw new Error("a drawn lot has a sample");
  const { sample, drawId } = found;
  const unit = sample.units.find(({ events }) => events.some(({ id }) => id === request.eventId));
  const event = unit?.events.find(({ id }) => id === request.eventId);
  if (unit === undefined || event === undefined) throw notFound("follow-up in the newest draw of this lot");
  if (event.takenBack !== null) {
    throw new ProblemError("already-exists", "This follow-up was taken back already; reload the sample.");
  }
  if (event.kind === "called-up") {
    throw refusedByRule(
      "/eventId",
      "A spare goes back with the follow-up that called it up: take that back.",
    );
  }
  const calledUp = event.reason === null ? null : await spareCalledUpBy(tx, drawId, event.id, unit, sample);
  const rows: NewDrawEvent[] = [takingBack(request.id, unit.position, request.eventId, request.reason)];
  if (calledUp !== null) {
    rows.push(takingBack(newId(), calledUp.spare.position, calledUp.eventId, request.reason));
  }
  const entryId = await writeEntry(tx, {
    action: "lot.takeBack",
    subjectType: "lot",
    subjectId: lotId,
    reason: request.reason,
    payload: { number: lot.number, drawId, events: rows.map((row) => ({ ...row })) },
  });
  try {
    await insertDrawEvents(tx, drawId, rows, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This follow-up was taken back already; reload the sample.");
  }
  if (calledUp !== null) {
    const { meterId } = calledUp.spare;
    await closeWorkOfDraws(tx, [drawId], (asked) =>
      asked === meterId
        ? `The spare went back: meter ${unit.utilityNumber} of lot ${lot.number} has its place again (${request.reason}).`
        : null,
    );
  }
  const after = await sampleOfLot(tx, lotId);
  const touched = new Set(rows.map(({ position }) => position));
  return { units: after?.sample.units.filter(({ position }) => touched.has(position)) ?? [] };
}

function takingBack(id: string, position: number, takesBackId: string, reason: string): NewDrawEvent {
  return { id, position, kind: "taken-back", reason: null, note: reason, place: null, takesBackId };
}

/** The spare that a follow-up called up, with the event that did; null without one. Refused once anything rests on it. */
async function spareCalledUpBy(
  tx: Tx,
  drawId: string,
  eventId: string,
  unit: DrawUnit,
  sample: Sample,
): Promise<{ spare: DrawUnit; eventId: string } | null> {
  const rows = await findDrawEvents(tx, drawId);
  const called = rows
    .slice(rows.findIndex(({ id }) => id === eventId))
    .find(
      ({ kind, place, taken_back_at }) =>
        kind === "called-up" && place === unit.place && taken_back_at === null,
    );
  const spare = sample.units.find(({ position }) => position === called?.position);
  if (called === undefined || spare === undefined) return null;
  if (spare.state === "replaced" || spare.state === "left-out") {
    throw refusedByRule(
      "/eventId",
      `Spare ${spare.utilityNumber}, called up for meter ${unit.utilityNumber}, has left the sample too: take that back first.`,
    );
  }
  if (spare.test !== null) {
    throw refusedByRule(
      "/eventId",
      `Spare ${spare.utilityNumber} is tested in place of meter ${unit.utilityNumber}: its result counts, and this stands.`,
    );
  }
  return { spare, eventId: called.id };
}

/** Why the meter leaves the sample; null where it stays. */
function reasonOf(event: FollowUp, index: number): AbsenceReason | null {
  const pointer = `/events/${index}/reason`;
  switch (event.kind) {
    case "asked":
    case "pulled":
    case "received":
      if (event.reason !== null)
        throw refusedByRule(pointer, "A reason belongs to a meter that cannot be had.");
      return null;
    case "moved":
    case "retired":
      if (event.reason !== null && event.reason !== event.kind)
        throw refusedByRule(
          pointer,
          "Having moved or been retired is the reason by itself: leave the reason out.",
        );
      return event.kind;
    case "not-reached":
    case "left-out":
      if (event.reason === null) throw refusedByRule(pointer, "Say why the meter cannot be had.");
      if (event.reason === "other" && event.note.trim().length < 5)
        throw refusedByRule(`/events/${index}/note`, "Say in a few words what the other reason is.");
      return event.reason;
  }
}

function refuseEvent(
  unit: DrawUnit | undefined,
  event: FollowUp,
  reason: AbsenceReason | null,
  gone: ReadonlySet<number>,
  scheme: Scheme,
  index: number,
): void {
  const pointer = `/events/${index}/position`;
  if (unit === undefined) throw refusedByRule(pointer, `The draw has no position ${event.position}.`);
  const number = unit.utilityNumber;
  if (unit.state === "spare")
    throw refusedByRule(pointer, `Meter ${number} is a spare and was not called up.`);
  if (unit.state === "replaced" || unit.state === "left-out" || gone.has(event.position)) {
    throw refusedByRule(pointer, `Meter ${number} has left the sample already.`);
  }
  if (unit.state === "tested") throw refusedByRule(pointer, `Meter ${number} is tested; its result counts.`);
  if (unit.state === "no-test-possible") {
    const leavesByScheme = scheme.body.untestable.counts === "left-out" && reason === "no-test-possible";
    if (!leavesByScheme) {
      throw refusedByRule(
        pointer,
        `No test was possible on meter ${number}, and the scheme ${scheme.body.untestable.counts === "left-out" ? "leaves it out" : "counts it as nonconforming"}.`,
        scheme.body.untestable.reason,
      );
    }
  } else if (reason === "no-test-possible") {
    throw refusedByRule(
      `/events/${index}/reason`,
      `Record first that no test was possible on meter ${number}, as its test.`,
    );
  }
}

// ---------------------------------------------------------------------------------------------------------------
// Deciding

/** Decides a lot from its results, once; refused until every place has an outcome. */
export async function decide(
  tx: Tx,
  lotId: string,
  request: {
    id: string;
    outcome: "accepted" | "not-accepted" | null;
    reason: string;
    steady: boolean;
    reducedApproved: boolean;
  },
): Promise<Lot> {
  const lot = await lockLot(tx, lotId);
  if (lot === null) throw notFound("lot");
  if (["decided", "approved", "closed"].includes(lot.state)) {
    throw new ProblemError("already-exists", "This lot is decided; a decision is made once.", {
      current: await getLot(tx, lotId, tx.actor),
    });
  }
  const found = lot.state === "drawn" ? await sampleOfLot(tx, lotId) : null;
  if (found === null)
    throw new ProblemError("wrong-state", "This lot has no sample yet that could decide it.");
  const { evaluation, sample } = found;
  if (evaluation.outcome === "open") refuseOpen(sample, evaluation);
  const { outcome, byPerson } = outcomeOf(evaluation, request);
  const entryId = await writeEntry(tx, {
    action: "lot.decide",
    subjectType: "lot",
    subjectId: lotId,
    reason: request.reason.trim() === "" ? null : request.reason,
    payload: {
      decisionId: request.id,
      number: lot.number,
      outcome,
      byPerson,
      steady: request.steady,
      reducedApproved: request.reducedApproved,
      drawId: found.drawId,
      scheme: { id: found.scheme.id, code: found.scheme.code, revision: found.scheme.revision },
      evaluation: inDecimals(evaluation),
      tests: sample.tests.map((test) => ({ ...test })),
    },
  });
  try {
    await insertDecision(
      tx,
      {
        id: request.id,
        lotId,
        outcome,
        byPerson,
        reason: request.reason,
        steady: request.steady,
        reducedApproved: request.reducedApproved,
        evaluation: JSON.stringify(evaluation),
        engineVersion,
      },
      sample.tests,
      entryId,
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This lot is decided; a decision is made once.");
  }
  await updateLot(tx, lotId, { state: "decided" }, entryId);
  return await getLot(tx, lotId, tx.actor);
}

function refuseOpen(sample: Sample, evaluation: LotEvaluation): never {
  const waiting = sample.places.filter(({ outcome }) => outcome.kind === "waiting");
  const shown = waiting.slice(0, 20).map(({ place, meter }) => `${meter} (place ${place})`);
  throw refusedByRule(
    "/id",
    `${evaluation.waiting} meters of the sample have no outcome yet: ${shown.join(", ")}${waiting.length > 20 ? " and more" : ""}.`,
  );
}

function outcomeOf(
  evaluation: LotEvaluation,
  request: { outcome: "accepted" | "not-accepted" | null; reason: string },
): { outcome: LotOutcome; byPerson: boolean } {
  if (evaluation.outcome === "person-decides") {
    if (request.outcome === null) {
      throw refusedByRule("/outcome", `${evaluation.sentence} Choose accepted or not accepted.`);
    }
    if (request.reason.trim().length < 10) {
      throw refusedByRule("/reason", "Say why you decide so; it stands on the decision sheet.");
    }
    return { outcome: request.outcome, byPerson: true };
  }
  if (request.outcome !== null) {
    throw refusedByRule("/outcome", "The plan decides this lot; nobody chooses its outcome.");
  }
  if (evaluation.outcome === "open") throw new Error("an open evaluation decides nothing");
  return { outcome: evaluation.outcome, byPerson: false };
}

/** Approves a decision with one's password. Refused to whoever decided, tested a sampled meter or recorded its test. */
export async function approve(
  tx: Tx,
  lotId: string,
  request: { id: string; password: string; note: string },
): Promise<Lot> {
  const lot = await lockLot(tx, lotId);
  if (lot === null) throw notFound("lot");
  const { decision, kind, secondTryOfId } = await getLot(tx, lotId, tx.actor);
  if (decision === null) throw new ProblemError("wrong-state", "This lot is not decided yet.");
  if (decision.approval !== null)
    throw new ProblemError("already-exists", "This decision is approved already.");
  const hindrances = await hindrancesOf(tx, decision.id, actorOf(tx));
  const [first] = hindrances;
  if (first !== undefined) {
    throw new ProblemError("not-independent", `You may not approve this decision. ${first.sentence}`, {
      errors: hindrances.slice(0, 50).map(({ sentence }) => ({ pointer: "/id", detail: sentence })),
    });
  }
  await requireOwnPassword(tx, request.password, "/password");
  const entryId = await writeEntry(tx, {
    action: "lot.approve",
    subjectType: "lot",
    subjectId: lotId,
    payload: {
      approvalId: request.id,
      decisionId: decision.id,
      recordHash: decision.recordHash,
      meaning: "approved",
      note: request.note,
    },
  });
  try {
    await insertApproval(
      tx,
      { id: request.id, decisionId: decision.id, note: request.note, recordHash: decision.recordHash },
      entryId,
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "This decision is approved already.");
  }
  await updateLot(tx, lotId, { state: "approved" }, entryId);
  if (secondTryOfId !== null) await closeFirstTry(tx, secondTryOfId, lotId);
  // An accepted group stays where it is: nothing is left to do.
  if (kind === "in-service" && decision.outcome !== "not-accepted") {
    await dispose(tx, lotId, "kept-in-service", null, {});
  }
  return await getLot(tx, lotId, tx.actor);
}

/** The first try is over once the second is approved, whose outcome is the group's. */
async function closeFirstTry(tx: Tx, firstId: string, secondId: string): Promise<void> {
  await lockLotIn(tx, firstId, ["approved"], "The first try of this group is closed already.");
  await dispose(tx, firstId, "tried-again", null, { secondTry: secondId });
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

async function hindrancesOf(source: Source, decisionId: string, actor: Actor): Promise<Lot["hindrances"]> {
  const hands = await findHands(source, decisionId, actor.id);
  return hands.map(({ kind, test_id, utility_number }) => ({
    kind,
    utilityNumber: utility_number,
    testId: test_id,
    sentence:
      kind === "decided"
        ? "You made this decision."
        : kind === "tested"
          ? `You tested meter ${utility_number} of its sample.`
          : `You recorded the test of meter ${utility_number} of its sample.`,
  }));
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
