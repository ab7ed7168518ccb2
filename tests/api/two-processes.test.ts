import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { startShop } from "@sealbook/api/modules/people/first-shop";
import { createPerson } from "@sealbook/api/modules/people/people";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Import } from "@sealbook/contract/imports";
import type { Role } from "@sealbook/contract/permissions";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, inject, it } from "vitest";
import { testPassword } from "../support/app.ts";
import { type FreshDatabase, freshDatabase } from "../support/fresh-database.ts";
import { plainMapping } from "../support/inventory-import.ts";
import { type ServiceProcess, startService } from "../support/service-process.ts";

/**
 * What would break in the shop: a second process beside the first, behind one address, and people who are signed in at
 * the one and strangers at the other, or work that both do.
 */
let database: FreshDatabase;
let admin: pg.Pool;
let one: ServiceProcess;
let other: ServiceProcess;
const folder = mkdtempSync(join(tmpdir(), "sealbook-two-"));

beforeAll(async () => {
  database = await freshDatabase();
  admin = new pg.Pool({ connectionString: database.adminUrl, max: 2 });
  await inTransaction(admin, null, (tx) =>
    startShop(tx, {
      name: "Quillmoor Test Shop",
      timeZone: "America/New_York",
      homeJurisdiction: "us-nc",
      demo: false,
    }),
  );
  const settings = {
    DATABASE_URL: database.adminUrl,
    DATABASE_APP_PASSWORD: inject("appRolePassword"),
    SEALBOOK_DATA_FOLDER: folder,
    REQUIRE_DURABLE_DATABASE: "false",
    REQUESTS_PER_MINUTE: "100000",
  };
  // At the same moment, as two of them start after a power cut.
  [one, other] = await Promise.all([startService(settings), startService(settings)]);
}, 120_000);
afterAll(async () => {
  await Promise.all([one?.stop(), other?.stop()]);
  await admin.end();
  await database.drop();
  rmSync(folder, { recursive: true, force: true });
});

async function aPerson(username: string, role: Role): Promise<void> {
  const person = { id: newId(), username, name: `${role} ${username}`, role, password: testPassword };
  await inTransaction(admin, null, (tx) => createPerson(tx, person));
}

async function signIn(at: ServiceProcess, username: string): Promise<string> {
  const reply = await at.ask("POST", "/session", { body: { username, password: testPassword } });
  expect(reply.status).toBe(200);
  return reply.cookie;
}

describe("two processes of the service on one database", () => {
  it("know the same sessions: opened at one, used at the other, ended at the one, gone at the other", async () => {
    await aPerson("wren", "storekeeper");
    const cookie = await signIn(one, "wren");
    expect((await other.ask("GET", "/meters", { cookie })).status).toBe(200);
    expect((await one.ask("DELETE", "/session", { cookie })).status).toBeLessThan(300);
    expect((await other.ask("GET", "/meters", { cookie })).status).toBe(401);
  });

  it("count wrong passwords together: five at both make the sixth wait at either", async () => {
    await aPerson("finch", "storekeeper");
    const tries: number[] = [];
    for (let n = 0; n < 5; n++) {
      const body = { username: "finch", password: `not it ${n}` };
      tries.push((await (n % 2 === 0 ? one : other).ask("POST", "/session", { body })).status);
    }
    expect(tries).toEqual([401, 401, 401, 401, 401]);
    for (const at of [one, other]) {
      const body = { username: "finch", password: testPassword };
      expect((await at.ask("POST", "/session", { body })).status).toBe(429);
    }
  });

  it("do what is sent to both at once under one key once, and give both the same reply", async () => {
    await aPerson("heron", "quality-engineer");
    const cookie = await signIn(one, "heron");
    for (let round = 0; round < 20; round++) {
      const key = newId();
      const body = {
        id: newId(),
        number: `RACE-${round}`,
        address: `${round + 1} Larch Lane`,
        area: "Quillmoor East",
        jurisdiction: "us-nc",
      };
      const replies = await Promise.all(
        [one, other].map((at) => at.ask("POST", "/service-points", { cookie, body, key })),
      );
      expect(replies.map(({ status }) => status)).toEqual([201, 201]);
      expect(replies[0]?.body).toEqual(replies[1]?.body);
    }
    const { rows } = await admin.query(
      `SELECT count(*)::int AS points, (SELECT count(*)::int FROM ledger_entry WHERE action = 'servicePoint.create') AS entries
       FROM service_point WHERE number LIKE 'RACE-%'`,
    );
    expect(rows).toEqual([{ points: 20, entries: 20 }]);
  });

  it("share the jobs: an import asked for at one is done once, and either shows how far it is", async () => {
    await aPerson("plover", "supervisor");
    const cookie = await signIn(one, "plover");
    const rowsOfFile = 12_000;
    const columns = ["servicePoint", "address", "area", "jurisdiction"];
    const lines = Array.from({ length: rowsOfFile }, (_, n) => `J${n},${n} Mill Row,Quillmoor East,us-nc`);
    const fileId = newId();
    const form = new FormData();
    form.append("file", new Blob([`${columns.join(",")}\n${lines.join("\n")}\n`]), "points.csv");
    const kept = await fetch(`${one.address}/api/files?id=${fileId}`, {
      method: "POST",
      headers: { cookie },
      body: form,
    });
    expect(kept.status).toBe(201);
    const mappingId = newId();
    const mapping = plainMapping("service-points", Object.fromEntries(columns.map((name) => [name, name])));
    await one.ask("POST", "/import-mappings", {
      cookie,
      body: { id: mappingId, name: "Points", body: mapping },
    });
    const importId = newId();
    await other.ask("POST", "/imports", { cookie, body: { id: importId, kind: "service-points", fileId } });

    const until = async (at: ServiceProcess, state: Import["state"]) => {
      const seen: number[] = [];
      for (const end = Date.now() + 90_000; Date.now() < end; await sleep(30)) {
        const now = (await at.ask("GET", `/imports/${importId}`, { cookie })).body as unknown as Import;
        seen.push(now.rowsDone);
        if (now.state === state) return { now, seen };
        expect(now.state).not.toBe("failed");
      }
      throw new Error(`the import never came to be ${state}`);
    };
    expect(
      (await one.ask("POST", `/imports/${importId}/check`, { cookie, body: { mappingId } })).status,
    ).toBe(202);
    await until(other, "checked");
    expect((await one.ask("POST", `/imports/${importId}/run`, { cookie })).status).toBe(202);
    const { now, seen } = await until(other, "done");
    expect(now).toMatchObject({ rowsGood: rowsOfFile, rowsAlready: 0, rowsBad: 0 });
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    const { rows } = await admin.query(
      `SELECT count(*)::int AS points, count(DISTINCT number)::int AS numbers,
         (SELECT count(*)::int FROM ledger_entry WHERE action = 'import.finish' AND subject_id = $1) AS ends,
         (SELECT sum((payload::json ->> 'rowsGood')::int)::int FROM ledger_entry WHERE action = 'import.rows' AND subject_id = $1) AS entered
       FROM service_point WHERE number ~ '^J[0-9]+$'`,
      [importId],
    );
    expect(rows).toEqual([{ points: rowsOfFile, numbers: rowsOfFile, ends: 1, entered: rowsOfFile }]);
  }, 200_000);

  it("make one log: every entry one leaf, no gap, whoever of them made it", async () => {
    for (const end = Date.now() + 30_000; Date.now() < end; await sleep(100)) {
      const { rows } = await admin.query<{ waiting: number }>(
        "SELECT count(*)::int AS waiting FROM log_pending",
      );
      if (rows[0]?.waiting === 0) break;
    }
    const { rows } = await admin.query(
      `SELECT (SELECT count(*)::int FROM log_pending) AS waiting, count(*)::int = (SELECT count(*)::int FROM ledger_entry) AS all,
         count(*)::int = max(leaf_index)::int + 1 AS gapless, count(*) = (SELECT size FROM log_head) AS headed FROM log_leaf`,
    );
    expect(rows).toEqual([{ waiting: 0, all: true, gapless: true, headed: true }]);
  }, 60_000);
});
