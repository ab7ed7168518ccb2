import { randomBytes } from "node:crypto";
import type { Readable } from "node:stream";
import type { Lot, SeedTerms } from "@sealbook/contract/sampling";
import { drawAlgorithm, drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import { listHash } from "@sealbook/metrology/sampling/draw/list-hash";
import { orderCandidates } from "@sealbook/metrology/sampling/draw/order-candidates";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { databaseTime } from "../../platform/database-time.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import { getFileView, keepBytes, readBytes, readFileStream } from "../files/files.ts";
import { closeWorkOfDraws, openWorkItems } from "../work-items/work-items.ts";
import {
  findDrawList,
  findDrawLists,
  insertDraw,
  insertDrawList,
  type StoredDrawList,
  wasSeedKnown,
} from "./draw-store.ts";
import { findMemberNumbers, findPlanOfLot, type LockedLot, lockLot, updateLot } from "./lot-store.ts";
import { getLot, lockLotIn } from "./lots.ts";
import { workFor } from "./work-for.ts";

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
