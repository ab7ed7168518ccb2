import type { LotOutcome } from "@sealbook/contract/lot-terms";
import type { Lot } from "@sealbook/contract/sampling";
import { engineVersion } from "@sealbook/metrology/engine-version";
import { inDecimals } from "@sealbook/metrology/in-decimals";
import type { LotEvaluation } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import type { HeadToPrint } from "../../platform/log/head-to-print.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { actorOf, type Tx } from "../../platform/transaction.ts";
import { readTemplate, renderPdf } from "../../platform/typst.ts";
import { getShop, requireOwnPassword } from "../people/people.ts";
import { decisionSheetData } from "./decision-sheet-data.ts";
import { insertApproval, insertDecision } from "./decision-store.ts";
import { hindrancesOf } from "./hindrances-of.ts";
import { lockLot, updateLot } from "./lot-store.ts";
import { dispose, getLot, lockLotIn } from "./lots.ts";
import type { Sample } from "./sample-of.ts";
import { listDrawUnits, sampleOfLot } from "./sample-of-lot.ts";

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
  const shop = await getShop(database);
  return {
    number: lot.number,
    pdf: renderPdf(sheetTemplate, {
      ...decisionSheetData(lot, lot.decision, rows, shop),
      head: head?.line ?? null,
    }),
  };
}
