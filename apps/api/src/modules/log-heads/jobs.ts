import { toBase64 } from "@sealbook/evidence/base64";
import { joinSubtrees } from "@sealbook/evidence/frontier";
import { consistencyRanges, subtreesOf } from "@sealbook/evidence/proof-ranges";
import type { Logger } from "pino";
import { z } from "zod";
import type { Database } from "../../platform/database.ts";
import { addJob, type JobTasks } from "../../platform/jobs.ts";
import { isHistoryLost } from "../../platform/log/lost-history.ts";
import { findNewestCheckpoint, findSubtreeHashes, type Reader } from "../../platform/log/store.ts";
import { reading } from "../../platform/reading.ts";
import { inTransaction, type Tx } from "../../platform/transaction.ts";
import { type Delivered, deliverToAddress, deliverToFolder, type HeadToDeliver } from "./deliver-head.ts";
import { findDueOutlets, findOutlet, recordDelivery, recordFailure } from "./store.ts";

const deliverTask = "deliverHead";
const payloadSchema = z.object({ outletId: z.string() });
const lookEvery = 15_000;

/** Puts the delivery of the newest head to an outlet into the queue. */
export async function askForDelivery(tx: Tx, outletId: string): Promise<void> {
  await addJob(tx, { task: deliverTask, payload: { outletId }, key: `${deliverTask} ${outletId}` });
}

/** Sends the newest signed head to an outlet. What fails is said beside the outlet and tried again. */
export function logHeadTasks(database: Database): JobTasks {
  return {
    async [deliverTask](payload) {
      const { outletId } = payloadSchema.parse(payload);
      const source = reading(database);
      const outlet = await findOutlet(source, outletId);
      const head = await newestHead(source);
      if (outlet === null || !outlet.active || head === null || (await isHistoryLost(source))) return;
      const delivered: Delivered =
        outlet.kind === "folder"
          ? await deliverToFolder(outlet.target, head)
          : await deliverToAddress(outlet.target, head, outlet.delivered?.size ?? 0);
      await inTransaction(database.pool, null, (tx) =>
        "failure" in delivered
          ? recordFailure(tx, outletId, delivered.failure)
          : recordDelivery(tx, outletId, { size: head.size, answer: delivered.answer }),
      );
      // The queue waits longer from attempt to attempt; afterwards the next look asks again.
      if ("failure" in delivered) throw new Error(`a head was not delivered: ${delivered.failure}`);
    },
  };
}

async function newestHead(reader: Reader): Promise<HeadToDeliver | null> {
  const newest = await findNewestCheckpoint(reader);
  if (newest === null) return null;
  return {
    size: newest.size,
    note: newest.note,
    async proofFrom(size) {
      const hashes: string[] = [];
      for (const range of consistencyRanges(size, newest.size)) {
        hashes.push(toBase64(joinSubtrees(await findSubtreeHashes(reader, subtreesOf(range)))));
      }
      return hashes;
    },
  };
}

/** Looks every few seconds whose head is due and asks for its delivery, until stopped. */
export function startSendingHeads({ database, log }: { database: Database; log: Logger }): {
  stop(): Promise<void>;
} {
  let doing = Promise.resolve();
  const look = async (): Promise<void> => {
    try {
      const due = await findDueOutlets(reading(database));
      if (due.length === 0) return;
      await inTransaction(database.pool, null, async (tx) => {
        for (const id of due) await askForDelivery(tx, id);
      });
    } catch (error) {
      log.warn({ err: error }, "it could not be looked whose head of the log is due");
    }
  };
  const timer = setInterval(() => {
    doing = doing.then(look);
  }, lookEvery);
  return {
    async stop() {
      clearInterval(timer);
      await doing;
    },
  };
}
