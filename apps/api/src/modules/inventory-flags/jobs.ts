import type { Logger } from "pino";
import { z } from "zod";
import type { Database } from "../../platform/database.ts";
import type { JobTasks } from "../../platform/jobs.ts";
import { reading } from "../../platform/reading.ts";
import { inTransaction } from "../../platform/transaction.ts";
import { checkTask, lookAtTypes } from "./inventory-flags.ts";
import { findChunkEnd, findTypesToCheck, finishCheck, lookAtMeters } from "./store.ts";

const payloadSchema = z.object({ number: z.coerce.number().int() });

/** Meters looked at in one transaction: a second or two of work, so that nobody waits long behind it. */
const metersAtOnce = 20_000;
const typesAtOnce = 500;
const beforeAll = "00000000-0000-0000-0000-000000000000";

/**
 * Looks through the whole inventory, chunk by chunk in the order of ids. Looking twice raises nothing twice, so a job
 * that is taken up again after a crash simply begins anew.
 */
export function inventoryFlagTasks(database: Database, log: Logger): JobTasks {
  return {
    async [checkTask](payload, { signal, lastAttempt }) {
      const { number } = payloadSchema.parse(payload);
      try {
        const found = (await lookAtAllTypes(database)) + (await lookAtAllMeters(database, signal));
        await inTransaction(database.pool, null, (tx) => finishCheck(tx, number, { found, failure: null }));
      } catch (error) {
        if (signal.aborted || !lastAttempt) throw error;
        log.error({ err: error }, "a look through the inventory was given up");
        const failure = "Something failed inside the service; ask again, or tell an administrator.";
        await inTransaction(database.pool, null, (tx) => finishCheck(tx, number, { found: null, failure }));
      }
    },
  };
}

async function lookAtAllTypes(database: Database): Promise<number> {
  let found = 0;
  for (let after = beforeAll; ; ) {
    const types = await findTypesToCheck(reading(database), after, typesAtOnce);
    const last = types.at(-1);
    if (last === undefined) return found;
    found += await inTransaction(database.pool, null, (tx) => lookAtTypes(tx, types));
    after = last.id;
  }
}

async function lookAtAllMeters(database: Database, signal: AbortSignal): Promise<number> {
  let found = 0;
  for (let after = beforeAll; ; ) {
    signal.throwIfAborted();
    const upTo = await findChunkEnd(reading(database), after, metersAtOnce);
    if (upTo === null) return found;
    const scope = { after, upTo };
    found += await inTransaction(database.pool, null, (tx) => lookAtMeters(tx, scope));
    after = upTo;
  }
}
