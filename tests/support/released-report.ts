import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { buildApp } from "@sealbook/api/app";
import { readConfig } from "@sealbook/api/config";
import { openDatabase } from "@sealbook/api/platform/database";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { pino } from "pino";
import request, { type Agent } from "supertest";
import { type TestApp, testApp, testPassword } from "./app.ts";

/** The demo shop with a report of some weeks, released, and what hands out its evidence. */
export interface ReleasedReport {
  readonly shop: TestApp;
  readonly reportId: string;
  /** A signed head from before the report, and the log's key, as somebody outside would hold them. */
  readonly earlierHead: string;
  readonly earlierSize: number;
  readonly key: string;
  /** The bundle as it is handed out. */
  bundle(query?: { names?: "opened"; heldSize?: number }): Promise<Buffer>;
  close(): Promise<void>;
}

/** Tells the demo shop and releases a report of it; takes some minutes on a busy machine. */
export async function releasedReport(): Promise<ReleasedReport> {
  const shop = await testApp({}, { demo: true });
  const folder = await mkdtemp(join(tmpdir(), "sealbook-bundle-test-"));
  const config = readConfig({
    LOG_LEVEL: "silent",
    SEALBOOK_DATA_FOLDER: folder,
    SIGN_INS_PER_MINUTE: "1000",
    REQUESTS_PER_MINUTE: "100000",
  });
  const log = pino({ level: "silent" });
  const opened = openDatabase(shop.database.appUrl, config, log);
  const app = await buildApp({
    config,
    database: opened,
    log,
    logSigner: await logSigner(opened.pool, config),
  });
  await app.ready();
  const asRole = async (role: Parameters<TestApp["signIn"]>[0]): Promise<Agent> => {
    const { username } = await shop.signIn(role);
    const agent = request.agent(app.server);
    await agent.post("/api/session").send({ username, password: testPassword }).expect(200);
    return agent;
  };
  const author = await asRole("quality-engineer");
  const other = await asRole("supervisor");
  const sequence = async () => {
    for (;;) if ((await inTransaction(opened.pool, null, (tx) => sequenceEntries(tx))) === 0) return;
  };
  await sequence();
  const { body: earlier } = await author.get("/api/log/head").expect(200);
  // Some weeks up to the last decision on a lot: records, draws and decisions are in, and verifying takes a second or two.
  const { rows } = await shop.admin.query<{ id: string; from: string; to: string }>(
    `SELECT (SELECT id FROM rule_profile WHERE key = 'us-nc' ORDER BY version::int DESC LIMIT 1) AS id,
       (max(k.decided_at) - interval '40 days')::date::text AS from, (max(k.decided_at) + interval '1 day')::date::text AS to
     FROM decision k JOIN lot l ON l.id = k.lot_id JOIN sampling_scheme s ON s.id = l.scheme_id
     WHERE coalesce(s.body::json ->> 'jurisdiction', 'us-nc') = 'us-nc'`,
  );
  await withdrawFromOutside(shop, other, rows[0]?.from ?? "");
  const reportId = newId();
  await author
    .post("/api/reports")
    .send({
      kind: "first",
      id: reportId,
      title: "Meter tests of some weeks",
      periodFrom: rows[0]?.from,
      periodTo: rows[0]?.to,
      profileId: rows[0]?.id,
      layoutProfileId: null,
      placeId: null,
    })
    .expect(201);
  for (const [agent, step] of [
    [other, "review"],
    [author, "signature"],
    [other, "release"],
  ] as const) {
    await agent
      .post(`/api/reports/${reportId}/${step}`)
      .set("Idempotency-Key", newId())
      .send({ password: testPassword })
      .expect(200);
  }
  await sequence();
  return {
    shop,
    reportId,
    earlierHead: earlier.note as string,
    earlierSize: earlier.size as number,
    key: earlier.key as string,
    async bundle(query = {}) {
      // A head is signed every few seconds at most.
      for (let tries = 0; tries < 30; tries += 1) {
        const { body: head } = await author.get("/api/log/head").expect(200);
        if (head.size > earlier.size) break;
        await new Promise((resolve) => setTimeout(resolve, 1000));
      }
      const { body } = await author
        .get(`/api/reports/${reportId}/bundle`)
        .query(query)
        .buffer(true)
        .parse((response, done) => {
          const chunks: Buffer[] = [];
          response.on("data", (chunk: Buffer) => chunks.push(chunk));
          response.on("end", () => done(null, Buffer.concat(chunks)));
        })
        .expect(200);
      return body as Buffer;
    },
    async close() {
      await app.close();
      await opened.close();
      await shop.close();
      await rm(folder, { recursive: true });
    },
  };
}

/** Withdraws a test of the period by a record that is dated before it, so that what stands in for it is no part of it. */
async function withdrawFromOutside(shop: TestApp, agent: Agent, from: string): Promise<void> {
  const { rows } = await shop.admin.query<{
    id: string;
    meter_id: string;
    plan_id: string;
    reasons: string[];
  }>(
    `SELECT t.id, t.meter_id, t.plan_id, t.reasons FROM meter_test t JOIN rule_profile p ON p.id = t.profile_id
     WHERE p.key = 'us-nc' AND t.performed_at > $1::date + 1 AND t.outcome = 'tested'
       AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
       AND NOT EXISTS (SELECT FROM decision_test d WHERE d.test_id = t.id)
       AND EXISTS (SELECT FROM meter_event e WHERE e.meter_id = t.meter_id AND e.performed_at < $1::date - 2)
     ORDER BY t.performed_at, t.id LIMIT 1`,
    [from],
  );
  const [test] = rows;
  if (test === undefined) throw new Error("the demo shop has a test that can be withdrawn");
  await agent
    .post(`/api/meter-tests/${test.id}/amendments`)
    .send({
      id: newId(),
      meterId: test.meter_id,
      planId: test.plan_id,
      reasons: test.reasons,
      workItemIds: [],
      performedAt: new Date(Date.parse(from) - 86_400_000).toISOString(),
      standardId: null,
      errorAppliedByBench: null,
      conditions: { volts: null, amperes: null, temperatureCelsius: null },
      preconditionsConfirmed: [],
      readingBefore: null,
      readingAfter: null,
      sealsRemoved: [],
      sealsApplied: [],
      remarks: "",
      fileIds: [],
      outcome: { kind: "withdrawn" },
      signature: null,
      amendmentReason: "Entered under the wrong meter and date",
    })
    .expect(201);
}

/** The lines of a bundle. */
export function linesOfBundle(bundle: Buffer): string[] {
  return gunzipSync(bundle).toString("utf8").split("\n").slice(0, -1);
}
