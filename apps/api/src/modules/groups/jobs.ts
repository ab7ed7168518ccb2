import { may } from "@sealbook/contract/permissions";
import type { Logger } from "pino";
import { z } from "zod";
import type { Database } from "../../platform/database.ts";
import { findActor } from "../../platform/find-actor.ts";
import type { JobContext, JobTasks } from "../../platform/jobs.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { type Actor, inTransaction, newId } from "../../platform/transaction.ts";
import { draw, schemeById } from "../sampling/sampling.ts";
import { formLot } from "./form-lot.ts";
import { drawTask, formFromInventory, formTask, rulesOf } from "./groups.ts";
import { partsOf } from "./parts-of.ts";
import {
  findLotsOf,
  findMetersOf,
  findProgramme,
  lockProgramme,
  moveProgramme,
  moveProgress,
} from "./store.ts";

const payloadSchema = z.object({ programmeId: z.string(), actorId: z.string() });

/**
 * The long work of groups in service: forming the groups of a programme, and drawing from their lists.
 *
 * Each lot is formed, planned and listed in one transaction of its own, and drawn in another. A job that is taken up again
 * after a crash passes over the series that have their lot, and over the lists that are drawn from.
 */
export function groupTasks(database: Database, log: Logger): JobTasks {
  const task =
    (work: (job: Work) => Promise<void>) =>
    async (payload: unknown, { signal, lastAttempt }: JobContext) => {
      const { programmeId, actorId } = payloadSchema.parse(payload);
      const actor = await findActor(reading(database), actorId);
      const job: Work = { database, programmeId, actor, signal };
      try {
        if (actor === null || !may(actor.role, "sampling.run")) {
          await end(job, "failed", "Whoever asked for this may not run programmes any more.");
          return;
        }
        await work(job);
      } catch (error) {
        if (signal.aborted || !lastAttempt) throw error;
        log.error({ err: error, programme: programmeId }, "a programme was given up");
        await end(
          job,
          "failed",
          "Something failed inside the service. Lots formed so far stay; tell an administrator.",
        );
      }
    };
  return { [formTask]: task(form), [drawTask]: task(drawAll) };
}

interface Work {
  readonly database: Database;
  readonly programmeId: string;
  readonly actor: Actor | null;
  readonly signal: AbortSignal;
}

async function form(job: Work): Promise<void> {
  const { database, programmeId, actor } = job;
  const source = reading(database);
  const programme = await findProgramme(source, programmeId);
  if (programme === null || programme.state !== "forming") return;
  const scheme = await schemeById(source, programme.scheme.id);
  if (scheme === null) throw new Error("a programme has a scheme");
  const formed = await formFromInventory(source, scheme.body);
  const leftOut = [...formed.leftOut];
  for (const { title, size, standing, reason } of formed.groups) {
    if (standing === "too-small") leftOut.push({ reason: `${title}: ${reason}`, meters: size });
  }
  const lots = formed.groups.flatMap((group) =>
    partsOf(group).map((part, index) => ({ group, part, index })),
  );
  const seriesOfYear = lots.map(({ part }) => part.series);
  const have = new Set((await findLotsOf(source, programmeId)).map(({ series }) => series));
  let done = 0;
  for (const { group, part, index } of lots) {
    if (await stops(job)) return;
    if (!have.has(part.series)) {
      // The inventory goes on changing: whoever is in no lot yet comes into the next, and the last part takes the rest.
      const left = await findMetersOf(source, rulesOf(scheme.body), group.cells, programmeId);
      const members = index === group.lots.length - 1 ? left : left.slice(0, part.size);
      try {
        await inTransaction(database.pool, actor, (tx) =>
          formLot(tx, programme, scheme, part, seriesOfYear, members),
        );
      } catch (error) {
        // A rule that stands against one group leaves the others alone.
        if (!(error instanceof ProblemError) || error.slug !== "refused-by-rule") throw error;
        leftOut.push({ reason: `${part.title}: ${error.detail}`, meters: members.length });
      }
    }
    done += 1;
    await inTransaction(database.pool, actor, (tx) =>
      moveProgress(tx, programmeId, { done, total: lots.length }, leftOut),
    );
  }
  await inTransaction(database.pool, actor, (tx) =>
    moveProgress(tx, programmeId, { done, total: lots.length }, leftOut),
  );
  if (programme.seed.source === "system") {
    for (const lot of await findLotsOf(source, programmeId)) {
      if (await stops(job)) return;
      if (lot.state === "listed" && lot.list_id !== null) {
        const listId = lot.list_id;
        await inTransaction(database.pool, actor, (tx) => draw(tx, listId, { id: newId(), seed: null }));
      }
    }
    await end(job, "drawn", null);
  } else {
    await end(job, "formed", null);
  }
}

async function drawAll(job: Work): Promise<void> {
  const { database, programmeId, actor } = job;
  const source = reading(database);
  const programme = await findProgramme(source, programmeId);
  if (programme === null || programme.state !== "drawing") return;
  const lots = await findLotsOf(source, programmeId);
  let done = 0;
  for (const lot of lots) {
    if (await stops(job)) return;
    if (lot.state === "listed" && lot.list_id !== null) {
      const listId = lot.list_id;
      try {
        await inTransaction(database.pool, actor, (tx) =>
          draw(tx, listId, { id: newId(), seed: programme.seedGiven }),
        );
      } catch (error) {
        // A list that was repeated meanwhile has terms of its own: it waits on its lot's page for a seed of its own.
        if (!(error instanceof ProblemError) || error.slug !== "refused-by-rule") throw error;
      }
    }
    done += 1;
    await inTransaction(database.pool, actor, (tx) =>
      moveProgress(tx, programmeId, { done, total: lots.length }, null),
    );
  }
  await end(job, "drawn", null);
}

/** Whether the job ends here: it was cancelled, or the service stops and the job is taken up again later. */
async function stops(job: Work): Promise<boolean> {
  if (job.signal.aborted) throw new Error("the service stops; this programme goes on when it is back");
  const programme = await findProgramme(reading(job.database), job.programmeId);
  if (programme === null) return true;
  if (!programme.cancelAsked) return false;
  await end(job, "cancelled", null);
  return true;
}

async function end(
  { database, programmeId, actor }: Work,
  state: "formed" | "drawn" | "failed" | "cancelled",
  failure: string | null,
): Promise<void> {
  await inTransaction(database.pool, actor, async (tx) => {
    const programme = await lockProgramme(tx, programmeId);
    if (programme === null || (programme.state !== "forming" && programme.state !== "drawing")) return;
    const lots = await findLotsOf(tx, programmeId);
    const entryId = await writeEntry(tx, {
      action: "programme.finish",
      subjectType: "programme",
      subjectId: programmeId,
      payload: {
        state,
        failure,
        lots: lots.map(({ number, id }) => ({ id, number })),
        leftOut: programme.leftOut.map((left) => ({ ...left })),
      },
    });
    await moveProgramme(tx, programmeId, { state, failure, cancelAsked: false }, entryId);
  });
}
