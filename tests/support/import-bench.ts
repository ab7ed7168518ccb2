import { setTimeout as sleep } from "node:timers/promises";
import { importTasks } from "@sealbook/api/modules/imports/jobs";
import { type Jobs, startJobs } from "@sealbook/api/platform/jobs";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Import, ImportProblem, ImportState, TestMapping } from "@sealbook/contract/imports";
import { pino } from "pino";
import type { SignedIn, TestApp } from "./app.ts";
import { benchMapping } from "./bench-file.ts";
import { type MeterBench, meterBench } from "./meter-bench.ts";

/** A shop with meters, standards and people for bench files, and the queue that works on them. */
export interface ImportBench {
  readonly bench: MeterBench;
  readonly meters: readonly { readonly id: string; readonly number: string; readonly serial: string }[];
  /** Designations of a standard in calibration from 2025 to 2027, and of one that was due at the end of 2019. */
  readonly standard: string;
  readonly overdueStandard: string;
  readonly startJobs: () => Promise<Jobs>;
  keepFile(content: string | Buffer, name?: string): Promise<string>;
  aMapping(over?: Partial<TestMapping>): Promise<string>;
  /** Adds an import of this content. */
  add(content: string | Buffer, name?: string): Promise<Import>;
  check(importId: string, mappingId: string): Promise<Import>;
  run(importId: string): Promise<Import>;
  get(importId: string): Promise<Import>;
  until(importId: string, states: readonly ImportState[], seconds?: number): Promise<Import>;
  problems(importId: string): Promise<ImportProblem[]>;
  setAside(importId: string): Promise<string>;
}

export async function importBench(
  shop: TestApp,
  { meters: meterCount = 25, who }: { meters?: number; who?: SignedIn } = {},
): Promise<ImportBench> {
  const bench = await meterBench(shop);
  const { agent } = who ?? bench.technician;
  const plan = await bench.aPlan();
  const typeId = await bench.aType(plan);
  const meters: { id: string; number: string; serial: string }[] = [];
  for (let index = 0; index < meterCount; index++) {
    const { id, utilityNumber, serial } = await bench.aMeter(typeId);
    meters.push({ id, number: utilityNumber, serial });
  }
  // The meters have been in the book since 2019, so that tests of the years after can be taken in.
  await inTransaction(shop.admin, null, async (tx) => {
    for (const { id } of meters) {
      const eventId = newId();
      const entryId = await writeEntry(tx, {
        action: "meter.move",
        subjectType: "meter",
        subjectId: id,
        payload: { eventId, kind: "receive" },
      });
      await tx.query(
        "INSERT INTO meter_event (id, meter_id, kind, performed_at, place_id, reason, entry_id) VALUES ($1, $2, 'receive', '2019-06-03T15:00:00Z', $3, '', $4)",
        [eventId, id, bench.placeId, entryId],
      );
    }
  });
  const standardId = await bench.aStandard();
  await bench.aCalibration(standardId, { calibratedOn: "2025-01-02", dueOn: "2027-12-31" });
  const overdueId = await bench.aStandard();
  await bench.aCalibration(overdueId, { calibratedOn: "2019-01-02", dueOn: "2019-12-31" });
  const designationOf = async (id: string): Promise<string> =>
    (await agent.get(`/api/standards/${id}`).expect(200)).body.designation;

  const get = async (id: string): Promise<Import> => (await agent.get(`/api/imports/${id}`).expect(200)).body;
  const keepFile = async (content: string | Buffer, name = "bench.csv"): Promise<string> => {
    const id = newId();
    await agent.post("/api/files").query({ id }).attach("file", Buffer.from(content), name).expect(201);
    return id;
  };
  return {
    bench,
    meters,
    standard: await designationOf(standardId),
    overdueStandard: await designationOf(overdueId),
    startJobs: () => {
      const log = pino({ level: "silent" });
      const { database } = shop.app;
      return startJobs({ database, tasks: importTasks(database, log), log });
    },
    keepFile,
    async aMapping(over = {}) {
      const id = newId();
      const body = { ...benchMapping, ...over };
      await agent
        .post("/api/import-mappings")
        .send({ id, name: `Bench ${id.slice(-8)}`, body })
        .expect(201);
      return id;
    },
    async add(content, name) {
      const fileId = await keepFile(content, name);
      return (await agent.post("/api/imports").send({ id: newId(), kind: "meter-tests", fileId }).expect(201))
        .body;
    },
    async check(importId, mappingId) {
      return (await agent.post(`/api/imports/${importId}/check`).send({ mappingId }).expect(202)).body;
    },
    async run(importId) {
      return (await agent.post(`/api/imports/${importId}/run`).expect(202)).body;
    },
    get,
    async until(importId, states, seconds = 180) {
      const end = Date.now() + seconds * 1000;
      for (;;) {
        const now = await get(importId);
        if (states.includes(now.state)) return now;
        if (Date.now() > end)
          throw new Error(`import is ${JSON.stringify({ ...now, sample: [] })} after ${seconds} s`);
        await sleep(25);
      }
    },
    async problems(importId) {
      const rows: ImportProblem[] = [];
      let cursor: string | undefined;
      do {
        const { body } = await agent
          .get(`/api/imports/${importId}/problems`)
          .query({ limit: 20, ...(cursor === undefined ? {} : { cursor }) })
          .expect(200);
        rows.push(...body.rows);
        cursor = body.next ?? undefined;
      } while (cursor !== undefined);
      return rows;
    },
    async setAside(importId) {
      const reply = await agent.get(`/api/imports/${importId}/set-aside.csv`).buffer(true).expect(200);
      return reply.text;
    },
  };
}
