import { setTimeout as sleep } from "node:timers/promises";
import { newId } from "@sealbook/api/platform/transaction";
import type {
  Import,
  ImportProblem,
  ImportState,
  InventoryKind,
  InventoryMapping,
} from "@sealbook/contract/imports";
import type { Agent } from "supertest";

/** A mapping of a file that is written with commas, points and dates of ISO 8601. */
export function plainMapping(
  kind: InventoryKind,
  columns: Readonly<Record<string, string>>,
  over: Partial<InventoryMapping> = {},
): InventoryMapping {
  return {
    kind,
    format: 1,
    separator: ",",
    decimalMark: ".",
    figures: "registration",
    dateOrder: "iso",
    columns,
    ...(kind === "meter-events" ? { timeZone: "America/New_York" } : {}),
    ...over,
  } as InventoryMapping;
}

/** Takes files of the inventory in as the person of this agent, step by step as the page does. */
export function inventoryImport(agent: Agent) {
  const get = async (id: string): Promise<Import> => (await agent.get(`/api/imports/${id}`).expect(200)).body;
  const until = async (id: string, states: readonly ImportState[], seconds = 120): Promise<Import> => {
    const end = Date.now() + seconds * 1000;
    for (;;) {
      const now = await get(id);
      if (states.includes(now.state)) return now;
      if (Date.now() > end) throw new Error(`import is ${JSON.stringify({ ...now, sample: [] })}`);
      await sleep(20);
    }
  };
  return {
    get,
    until,
    async aMapping(body: InventoryMapping): Promise<string> {
      const id = newId();
      await agent
        .post("/api/import-mappings")
        .send({ id, name: `${body.kind} ${id.slice(-8)}`, body })
        .expect(201);
      return id;
    },
    async add(kind: InventoryKind, content: string | Buffer): Promise<Import> {
      const fileId = newId();
      await agent
        .post("/api/files")
        .query({ id: fileId })
        .attach("file", Buffer.from(content), `${kind}.csv`)
        .expect(201);
      return (await agent.post("/api/imports").send({ id: newId(), kind, fileId }).expect(201)).body;
    },
    /** Asks for a step, and does not wait for it. */
    async start(step: "check" | "run", importId: string, body: object = {}): Promise<void> {
      await agent.post(`/api/imports/${importId}/${step}`).send(body).expect(202);
    },
    async check(importId: string, mappingId: string): Promise<Import> {
      await agent.post(`/api/imports/${importId}/check`).send({ mappingId }).expect(202);
      return await until(importId, ["checked", "failed", "cancelled"]);
    },
    async run(importId: string): Promise<Import> {
      await agent.post(`/api/imports/${importId}/run`).expect(202);
      return await until(importId, ["done", "failed", "cancelled"]);
    },
    async problems(importId: string): Promise<ImportProblem[]> {
      return (await agent.get(`/api/imports/${importId}/problems`).query({ limit: 200 }).expect(200)).body
        .rows;
    },
    async setAside(importId: string): Promise<string> {
      return (await agent.get(`/api/imports/${importId}/set-aside.csv`).buffer(true).expect(200)).text;
    },
  };
}
