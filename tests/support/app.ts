import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildApp } from "@sealbook/api/app";
import { readConfig } from "@sealbook/api/config";
import { loadDemo } from "@sealbook/api/load-demo";
import { startShop } from "@sealbook/api/modules/people/first-shop";
import { createPerson } from "@sealbook/api/modules/people/people";
import { openDatabase } from "@sealbook/api/platform/database";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { startSequencer } from "@sealbook/api/platform/log/start-sequencer";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Role } from "@sealbook/contract/permissions";
import type { FastifyInstance } from "fastify";
import pg from "pg";
import { pino } from "pino";
import request, { type Agent } from "supertest";
import { demoTemplate, type FreshDatabase, freshDatabase } from "./fresh-database.ts";

/** A person of the test shop who is signed in. */
export interface SignedIn {
  readonly id: string;
  readonly username: string;
  readonly agent: Agent;
}

export interface TestApp {
  readonly app: FastifyInstance;
  readonly database: FreshDatabase;
  /** Pool as the role that owns the tables, for looking and for arranging. */
  readonly admin: pg.Pool;
  /** A person of this role; a new one at each call. */
  signIn(role: Role): Promise<SignedIn>;
  /** Somebody without a session. */
  stranger(): Agent;
  close(): Promise<void>;
}

export const testPassword = "nine blue ladders";
export const testPin = "2719";

const emptyShop = {
  name: "Quillmoor Test Shop",
  timeZone: "America/New_York",
  homeJurisdiction: "us-nc",
  demo: false,
};

/**
 * The whole server on a database of its own, with an empty shop in North Carolina's rules and New York's time, or with
 * the demo shop.
 *
 * @param shop.log  whether entries move into the log and heads are signed, as beside a service that runs
 */
export async function testApp(
  settings: Record<string, string> = {},
  shop: { demo?: boolean; log?: boolean } = {},
): Promise<TestApp> {
  const database = shop.demo
    ? await freshDatabase(await demoTemplate((pool) => loadDemo(pool)))
    : await freshDatabase();
  return await appOn(database, settings, shop);
}

/** The same on a migrated database that the caller made. */
export async function appOn(
  database: FreshDatabase,
  settings: Record<string, string> = {},
  { demo = false, log: isLogKept = false }: { demo?: boolean; log?: boolean } = {},
): Promise<TestApp> {
  const keys = isLogKept ? await mkdtemp(join(tmpdir(), "sealbook-keys-")) : null;
  const config = readConfig({
    LOG_LEVEL: "silent",
    ...(keys === null ? {} : { SEALBOOK_DATA_FOLDER: keys }),
    DATABASE_POOL: "8",
    SIGN_INS_PER_MINUTE: "10000",
    REQUESTS_PER_MINUTE: "1000000",
    // A test waits for its answer however busy the machine is.
    EVENT_LOOP_DELAY_MILLISECONDS: "60000",
    ...settings,
  });
  const log = pino({ level: config.LOG_LEVEL });
  const admin = new pg.Pool({ connectionString: database.adminUrl, max: 4 });
  admin.on("error", () => undefined);
  if (!demo) await inTransaction(admin, null, (tx) => startShop(tx, emptyShop));
  const opened = openDatabase(database.appUrl, config, log);
  const signer = isLogKept ? await logSigner(opened.pool, config) : null;
  const sequencer = signer === null ? null : startSequencer({ database: opened, signer, log });
  const app = await buildApp({
    config,
    database: opened,
    log,
    ...(signer === null ? {} : { logSigner: signer }),
  });
  await app.ready();
  let people = 0;
  return {
    app,
    database,
    admin,
    async signIn(role) {
      people += 1;
      const id = newId();
      const username = `person${people}`;
      await inTransaction(admin, null, (tx) =>
        createPerson(tx, { id, username, name: `${role} number ${people}`, role, password: testPassword }),
      );
      const agent = request.agent(app.server);
      await agent.post("/api/session").send({ username, password: testPassword }).expect(200);
      await agent.put("/api/session/pin").send({ password: testPassword, pin: testPin }).expect(204);
      return { id, username, agent };
    },
    stranger: () => request.agent(app.server),
    async close() {
      await app.close();
      await sequencer?.stop();
      if (keys !== null) await rm(keys, { recursive: true });
      await opened.close();
      await admin.end();
      await database.drop();
    },
  };
}
