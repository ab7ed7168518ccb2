import { setTimeout as sleep } from "node:timers/promises";
import { findForm } from "@sealbook/metrology/forms/find-form";
import { intervalFor } from "@sealbook/metrology/profiles/interval-for";
import type { Logger } from "pino";
import type { Database } from "../../platform/database.ts";
import { inTransaction, type Tx } from "../../platform/transaction.ts";
import { profilesInForce } from "../profiles/profiles.ts";
import {
  findTypesForIntervals,
  findTypesToApply,
  keepIntervals,
  markApplied,
  refreshNextMeters,
  type TestInterval,
  takeTurn,
} from "./store.ts";

const metersAtOnce = 1_000;
const lowestId = "00000000-0000-0000-0000-000000000000";

/**
 * Brings intervals and due dates up to the rules in force, the types on record and the shop's zone. A test, a setting or
 * a move needs none of this: there a trigger follows at once. It may be cut short anywhere: the next call begins again.
 *
 * @param between is asked between two chunks, with the milliseconds that the last one took; false ends the work there
 * @returns how many chunks of meters were worked out anew
 */
export async function keepDueDates(
  database: Pick<Database, "pool">,
  between: (milliseconds: number) => Promise<boolean> = async () => true,
): Promise<number> {
  const due = await inTransaction(database.pool, null, async (tx) => {
    if (!(await takeTurn(tx))) return null;
    const intervals = await intervalsInForce(tx);
    await keepIntervals(tx, intervals);
    return { intervals, typeIds: await findTypesToApply(tx) };
  });
  if (due === null || due.typeIds.length === 0) return 0;
  let chunks = 0;
  for (let after: string | null = lowestId; after !== null; ) {
    const from: string = after;
    const start = performance.now();
    after = await inTransaction(database.pool, null, (tx) =>
      refreshNextMeters(tx, due.typeIds, from, metersAtOnce),
    );
    chunks += 1;
    if (!(await between(performance.now() - start))) return chunks;
  }
  await inTransaction(database.pool, null, (tx) => markApplied(tx, due.intervals));
  return chunks;
}

/** The interval of every type under every place's rules of today; null months where there is none. */
async function intervalsInForce(tx: Tx): Promise<TestInterval[]> {
  const [profiles, types] = [await profilesInForce(tx), await findTypesForIntervals(tx)];
  return profiles.flatMap(({ document }) =>
    types.map(({ id, form, ...type }) => {
      const connection = findForm(form)?.rating === "transformer-rated" ? "transformer" : "direct";
      const found = intervalFor(document, { ...type, connection });
      return {
        jurisdiction: document.key,
        typeId: id,
        months: found?.months ?? null,
        source: found?.source ?? "",
      };
    }),
  );
}

const roundMilliseconds = 60_000;

/** Keeps due dates while the service runs: rules come into force by date, and types are added at any time. */
export function startKeepingDueDates({ database, log }: { database: Database; log: Logger }): {
  stop(): Promise<void>;
} {
  let isStopping = false;
  let timer: NodeJS.Timeout | undefined;
  let doing = Promise.resolve();
  const round = async () => {
    try {
      // Rules that change concern millions of meters; people at work have half of the database meanwhile.
      await keepDueDates(database, async (milliseconds) => {
        await sleep(isStopping ? 0 : milliseconds);
        return !isStopping;
      });
    } catch (error) {
      log.error({ err: error }, "due dates could not be brought up to date; the next round tries again");
    }
  };
  const next = (): void => {
    doing = round().then(() => {
      if (!isStopping) timer = setTimeout(next, roundMilliseconds);
    });
  };
  next();
  return {
    async stop() {
      isStopping = true;
      clearTimeout(timer);
      await doing;
    },
  };
}
