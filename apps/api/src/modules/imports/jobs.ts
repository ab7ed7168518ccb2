import {
  type Import,
  type ImportKind,
  type ImportMappingBody,
  type ImportState,
  importKindPermissions,
} from "@sealbook/contract/imports";
import { may } from "@sealbook/contract/permissions";
import type { Logger } from "pino";
import { z } from "zod";
import type { Database } from "../../platform/database.ts";
import { findActor } from "../../platform/find-actor.ts";
import { type HeldConnection, holdConnection } from "../../platform/hold-connection.ts";
import type { JobContext, JobTasks } from "../../platform/jobs.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { type Actor, inTransaction, type Tx } from "../../platform/transaction.ts";
import { rememberKeys } from "./find-repeats.ts";
import { checkTask, headingsOf, recordsOf, runTask } from "./imports.ts";
import { type Layout, layOutColumns } from "./lay-out-columns.ts";
import { prepareRows } from "./prepare-rows.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import type { FileRecord } from "./read-records.ts";
import {
  beginCheck,
  type Counts,
  endStep,
  findImport,
  findRowsSetAside,
  insertProblems,
  lockImport,
  moveProgress,
} from "./store.ts";

/**
 * Rows in one transaction: few enough to stop and to show progress, many enough to be quick. A row of the inventory is
 * read here and judged by the database in bulk; a test is judged here, at length.
 */
const rowsAtOnce: Record<ImportKind, number> = {
  "meter-tests": 500,
  "shipment-meters": 500,
  "meter-types": 500,
  "service-points": 5_000,
  meters: 5_000,
  "meter-events": 5_000,
};

/**
 * Steps of a run that are worked on side by side, each in a transaction and connection of its own, so that the database
 * has more than one processor to work with. They commit in the order of the file. Where a row leans on rows before it,
 * as an event on the meter's earlier ones, one step follows the other.
 */
const stepsSideBySide: Record<ImportKind, number> = {
  "meter-tests": 1,
  "shipment-meters": 1,
  "meter-types": 1,
  "service-points": 2,
  meters: 2,
  "meter-events": 1,
};

const payloadSchema = z.object({ importId: z.string(), actorId: z.string() });

/**
 * The long work of imports: the dry run and the run.
 *
 * Both go through the file in steps of some hundred rows, each one transaction that moves the count of rows done
 * along with what it wrote. So a job that is taken up again after a crash knows where it stands: the run goes on
 * behind the last row that is in, the dry run begins anew. Invariant: a step commits only if the import stands where
 * the step began, so two workers on one import, however that came about, never do a row twice.
 *
 * @param lackOfRoom  says what is wrong when the disk is too full to go on
 */
export function importTasks(
  database: Database,
  log: Logger,
  lackOfRoom: () => Promise<string | null> = async () => null,
): JobTasks {
  const task = (state: Work["state"]) => async (payload: unknown, context: JobContext) => {
    const { importId, actorId } = payloadSchema.parse(payload);
    try {
      await work({ database, importId, actorId, state, signal: context.signal, lackOfRoom });
    } catch (error) {
      // A refusal stays one however often it is tried: the shipment is planned meanwhile, say.
      if (error instanceof ProblemError && (error.status < 500 || error.slug === "storage-full")) {
        await fail({ database, importId, state }, error.detail);
        return;
      }
      if (error instanceof Overtaken || context.signal.aborted || !context.lastAttempt) throw error;
      log.error({ err: error, import: importId }, "an import was given up");
      await fail(
        { database, importId, state },
        "Something failed inside the service. Rows that went in are in; ask for another dry run, and tell an administrator if it fails again.",
      );
    }
  };
  return { [checkTask]: task("checking"), [runTask]: task("running") };
}

interface Work {
  readonly database: Database;
  readonly importId: string;
  readonly actorId: string;
  readonly state: Extract<ImportState, "checking" | "running">;
  readonly signal: AbortSignal;
  readonly lackOfRoom: () => Promise<string | null>;
}

/** Another worker has moved the import on, or this one is asked to stop; the job is taken up again later. */
class Overtaken extends Error {
  override readonly name = "Overtaken";
}

async function work(job: Work): Promise<void> {
  const { database, importId, actorId, state } = job;
  const found = await findImport(reading(database), importId);
  // Ended already: the job was taken up again after its last transaction.
  if (found === null || found.state !== state || found.mapping === null) return;
  const actor = await findActor(reading(database), actorId);
  const permissions = ["import.run", importKindPermissions[found.kind]] as const;
  // Limited to places since the asking: an import may reach meters anywhere.
  const isLimited = (actor?.placeIds ?? []).length > 0;
  if (actor === null || isLimited || !permissions.every((permission) => may(actor.role, permission))) {
    return await fail(
      job,
      "Whoever asked for this may not import any more; somebody else can ask for it again.",
    );
  }
  const mapping = found.mapping.body;
  const layout = layOutColumns(await headingsOf(database, found, mapping), mapping);
  if (layout.kind === "refused") return await fail(job, layout.detail);

  await workThrough(job, { found, actor, mapping, layout: layout.layout });
}

interface Ground {
  readonly found: Import;
  readonly actor: Actor;
  readonly mapping: ImportMappingBody;
  readonly layout: Layout;
}

/** Takes the file step by step, as many side by side as the kind allows; they end in the order of the file. */
async function workThrough(job: Work, ground: Ground): Promise<void> {
  const { database, state, signal } = job;
  const { found, actor, mapping } = ground;
  const wanted = state === "running" ? stepsSideBySide[found.kind] : 1;
  // A small pool is not taken up by one job: the file is read over it, too.
  const isRoomy = database.pool.options.max >= 4 * wanted;
  // Held for the whole job: a dry run's memory of what the file has named lives in its connection.
  const connections: HeldConnection[] = [];
  try {
    for (let n = 0; n < (isRoomy ? wanted : 1); n++) connections.push(await holdConnection(database.pool));
    const [first] = connections;
    if (first === undefined) throw new Error("a job has a connection");
    let done = state === "running" ? found.rowsDone : await begin(job, found, actor, first);
    const seen = state === "checking" ? new Map<string, number>() : null;
    const underWay: Promise<boolean>[] = [];
    let before = Promise.resolve(true);
    let number = 0;
    const records = recordsOf(database, found.file, mapping.separator);
    for await (const step of readAhead(inSteps(records, done, rowsAtOnce[found.kind]))) {
      if (underWay.length === connections.length && !(await underWay.shift())) break;
      if (signal.aborted) {
        // What is under way ends first: it is half done, and its connection goes when this returns.
        await before;
        throw new Overtaken("the service stops; this import goes on when it is back");
      }
      const lack = await job.lackOfRoom();
      if (lack !== null) {
        await before;
        throw new ProblemError(
          "storage-full",
          `${lack} Rows that went in are in; ask for another dry run when there is room.`,
        );
      }
      before = takeStep(job, ground, {
        connection: connections[number++ % connections.length] ?? first,
        records: step,
        done,
        seen,
        before,
      });
      // Whoever waits for it is told; it may end while nobody does yet.
      before.catch(() => undefined);
      underWay.push(before);
      done += step.length;
    }
    const isThrough = await before;
    await inTransaction(first, actor, async (tx) => {
      const current = await lockWhere(tx, job.importId, state, isThrough ? done : null);
      const isCancelled = !isThrough || (state === "checking" && current.cancelAsked);
      await end(tx, current, isCancelled ? "cancelled" : state === "running" ? "done" : "checked", null);
    });
  } finally {
    for (const connection of connections) connection.release();
  }
}

/**
 * One step: some rows judged, put in, and counted.
 *
 * @param step.done    rows done where it begins
 * @param step.before  the step before, of which it must come true that it went on
 * @returns false when the import is to stop; nothing of this step is kept then
 */
async function takeStep(
  { importId, state }: Work,
  { found, actor, mapping, layout }: Ground,
  step: {
    readonly connection: HeldConnection;
    readonly records: readonly FileRecord[];
    readonly done: number;
    readonly seen: Map<string, number> | null;
    readonly before: Promise<boolean>;
  },
): Promise<boolean> {
  try {
    await inTransaction(step.connection, actor, async (tx) => {
      const lotId = found.lot?.id ?? null;
      const source = {
        importId,
        lotId,
        mapping,
        layout,
        actorId: actor.id,
        now: new Date(),
        seen: step.seen,
      };
      const prepared = await prepareStep(tx, source, step.records);
      if (state === "running" && prepared.counts.good > 0) await prepared.putIn();
      if (!(await step.before)) throw new Stopped();
      // Judging and putting in take their time: the import is locked for the count alone.
      const current = await lockWhere(tx, importId, state, step.done);
      if (current.cancelAsked) throw new Stopped();
      if (prepared.problems.length > 0) await insertProblems(tx, importId, prepared.problems);
      await moveProgress(tx, importId, prepared.counts);
    });
    return true;
  } catch (error) {
    if (error instanceof Stopped) return false;
    throw error;
  }
}

/** The import is to stop: what this step wrote is undone. */
class Stopped extends Error {
  override readonly name = "Stopped";
}

/** Counts the rows and clears what an attempt before this one found. */
async function begin(
  { database, importId }: Work,
  found: Import,
  actor: Actor,
  connection: HeldConnection,
): Promise<number> {
  let rows = -1;
  for await (const _record of recordsOf(database, found.file, found.mapping?.body.separator ?? ",")) rows++;
  await inTransaction(connection, actor, async (tx) => {
    await lockWhere(tx, importId, "checking", null);
    await beginCheck(tx, importId, Math.max(rows, 0));
    await rememberKeys(tx);
  });
  return 0;
}

/** Reads and judges some rows; writes nothing. */
async function prepareStep(
  tx: Tx,
  source: RowSource,
  records: readonly FileRecord[],
): Promise<Pick<PreparedRows, "problems" | "putIn"> & { counts: Counts }> {
  // The run puts in what the dry run called good; what it set aside stays aside.
  const numbers = records.map(({ number }) => number);
  const aside =
    source.seen === null ? await findRowsSetAside(tx, source.importId, numbers) : new Set<number>();
  const { good, already, problems, putIn } = await prepareRows(
    tx,
    source,
    records.filter(({ number }) => !aside.has(number)),
  );
  return {
    putIn,
    problems,
    counts: {
      done: records.length,
      good,
      already,
      bad: aside.size + new Set(problems.map(({ rowNumber }) => rowNumber)).size,
    },
  };
}

/** The records below the headings, as many at a time as one transaction takes, behind those that are done. */
async function* inSteps(
  records: AsyncIterable<FileRecord>,
  done: number,
  atOnce: number,
): AsyncGenerator<FileRecord[]> {
  let step: FileRecord[] = [];
  let index = -1;
  for await (const record of records) {
    if (index++ < done) continue;
    step.push(record);
    if (step.length < atOnce) continue;
    yield step;
    step = [];
  }
  if (step.length > 0) yield step;
}

/** The same, each read while the one before is worked on: the database and this process then work side by side. */
async function* readAhead<Step>(steps: AsyncGenerator<Step>): AsyncGenerator<Step> {
  let next = steps.next();
  for (;;) {
    const { value, done } = await next;
    if (done === true) return;
    next = steps.next();
    // Told when it is awaited, or not at all if the work ends before.
    next.catch(() => undefined);
    yield value;
  }
}

/** Locks the import and makes sure that it stands where this worker believes; null takes any count of rows. */
async function lockWhere(tx: Tx, id: string, state: ImportState, done: number | null): Promise<Import> {
  const current = await lockImport(tx, id);
  if (current === null || current.state !== state || (done !== null && current.rowsDone !== done)) {
    throw new Overtaken("another worker has moved this import on");
  }
  return current;
}

async function end(tx: Tx, current: Import, state: ImportState, failure: string | null): Promise<void> {
  const entryId =
    current.state === "running"
      ? await writeEntry(tx, {
          action: "import.finish",
          subjectType: "import",
          subjectId: current.id,
          payload: {
            state,
            failure,
            rowsTotal: current.rowsTotal,
            rowsDone: current.rowsDone,
            rowsGood: current.rowsGood,
            rowsAlready: current.rowsAlready,
            rowsBad: current.rowsBad,
          },
        })
      : null;
  await endStep(tx, current.id, { state, failure, entryId });
}

/** Records that a step was given up. The service itself does it: the person may be gone. */
async function fail(
  { database, importId, state }: Pick<Work, "database" | "importId" | "state">,
  failure: string,
): Promise<void> {
  await inTransaction(database.pool, null, async (tx) => {
    const current = await lockImport(tx, importId);
    if (current?.state === state) await end(tx, current, "failed", failure);
  });
}
