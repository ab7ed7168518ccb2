import { addJob, type Jobs, type JobTasks, startJobs } from "@sealbook/api/platform/jobs";
import { inTransaction } from "@sealbook/api/platform/transaction";
import { pino } from "pino";
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";

let shop: TestApp;
const running: Jobs[] = [];
/** A worker that has just started looks for jobs every two seconds until it hears of them. */
const patient = { timeout: 15_000, interval: 50 };
const log = pino({ level: "silent" });

beforeAll(async () => {
  shop = await testApp();
});
afterEach(async () => {
  for (const jobs of running.splice(0)) await jobs.stop();
});
afterAll(() => shop.close());

async function start(tasks: JobTasks): Promise<Jobs> {
  const jobs = await startJobs({ database: shop.app.database, tasks, log });
  running.push(jobs);
  return jobs;
}

const add = (task: string, key: string, payload: Record<string, string> = {}) =>
  inTransaction(shop.app.database.pool, null, (tx) => addJob(tx, { task, payload, key }));

const waitingJobs = async () =>
  (await shop.admin.query<{ n: number }>("SELECT count(*)::int AS n FROM graphile_worker._private_jobs"))
    .rows[0]?.n;

describe("the queue", () => {
  it("is worked on by the server's own role, which owns nothing of it", async () => {
    const done: unknown[] = [];
    await start({ "test.note": async (payload) => void done.push(payload) });
    await add("test.note", "one", { what: "a note" });
    await vi.waitFor(() => expect(done).toEqual([{ what: "a note" }]), patient);
    await vi.waitFor(async () => expect(await waitingJobs()).toBe(0), patient);

    const owned = await shop.admin.query<{ n: number }>(
      `SELECT count(*)::int AS n FROM pg_class c JOIN pg_roles r ON r.oid = c.relowner WHERE r.rolname = 'sealbook_app'`,
    );
    expect(owned.rows[0]?.n).toBe(0);
    await expect(
      shop.app.database.pool.query("ALTER TABLE graphile_worker._private_jobs DISABLE ROW LEVEL SECURITY"),
    ).rejects.toThrow(/must be owner/);
    await expect(shop.app.database.pool.query("CREATE TABLE graphile_worker.mine (a int)")).rejects.toThrow(
      /permission denied/,
    );
  });

  it("holds a job only when the transaction that asked for it commits", async () => {
    const refused = inTransaction(shop.app.database.pool, null, async (tx) => {
      await addJob(tx, { task: "test.never", payload: {}, key: "never" });
      throw new Error("changed our mind");
    });
    await expect(refused).rejects.toThrow("changed our mind");
    expect(await waitingJobs()).toBe(0);
  });

  it("asks a task under way to end when the service stops, and takes it up again afterwards", async () => {
    let asked = false;
    const first = await start({
      "test.long": (_payload, { signal }) =>
        new Promise((_resolve, reject) => {
          signal.addEventListener("abort", () => {
            asked = true;
            reject(new Error("stopping"));
          });
        }),
    });
    await add("test.long", "long");
    await vi.waitFor(async () => {
      const { rows } = await shop.admin.query(
        "SELECT 1 FROM graphile_worker._private_jobs WHERE locked_by IS NOT NULL",
      );
      expect(rows).toHaveLength(1);
    }, patient);
    await first.stop();
    running.splice(0);
    expect(asked).toBe(true);
    expect(await waitingJobs()).toBe(1);

    let done = false;
    await start({
      "test.long": async () => {
        done = true;
      },
    });
    await vi.waitFor(() => expect(done).toBe(true), patient);
  });

  it("frees at its start the job of a worker that died, and leaves that of one that lives", async () => {
    const alive = await shop.admin.connect();
    try {
      await add("test.lost", "lost");
      await add("test.held", "held");
      await shop.admin.query(
        `UPDATE graphile_worker._private_jobs SET locked_at = now() - interval '3 seconds', locked_by = 'pool-' || key, attempts = 1
         WHERE key IN ('lost', 'held')`,
      );
      await alive.query("SELECT pg_advisory_lock(hashtextextended('pool-held', 0))");
      const done: string[] = [];
      await start({
        "test.lost": async () => void done.push("lost"),
        "test.held": async () => void done.push("held"),
      });
      await vi.waitFor(() => expect(done).toEqual(["lost"]), patient);
      const { rows } = await shop.admin.query<{ locked_by: string }>(
        "SELECT locked_by FROM graphile_worker._private_jobs",
      );
      expect(rows).toEqual([{ locked_by: "pool-held" }]);
    } finally {
      alive.release(true);
    }
  });

  it("says when an attempt is the last, so that a task can record its failure", async () => {
    await shop.admin.query("DELETE FROM graphile_worker._private_jobs");
    const attempts: boolean[] = [];
    await add("test.fails", "fails");
    await shop.admin.query("UPDATE graphile_worker._private_jobs SET attempts = 3 WHERE key = 'fails'");
    await start({
      "test.fails": async (_payload, { lastAttempt }) => {
        attempts.push(lastAttempt);
        if (!lastAttempt) {
          throw new Error("not yet");
        }
      },
    });
    await vi.waitFor(() => expect(attempts).toEqual([false]), patient);
    await vi.waitFor(
      async () => {
        await shop.admin.query("UPDATE graphile_worker._private_jobs SET run_at = now() WHERE key = 'fails'");
        expect(attempts).toEqual([false, true]);
      },
      { timeout: 15_000, interval: 500 },
    );
  });
});
