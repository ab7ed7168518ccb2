import { randomInt } from "node:crypto";
import { connect } from "node:net";
import { setTimeout as sleep } from "node:timers/promises";
import { newId } from "@sealbook/api/platform/transaction";
import type { Operation } from "@sealbook/contract/operation";
import { operations } from "@sealbook/contract/operations";
import { type Role, roles } from "@sealbook/contract/permissions";
import { problemSchema } from "@sealbook/contract/problems";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPassword } from "../support/app.ts";
import { type HostileRequest, hostileRequests } from "../support/hostile-requests.ts";

/** What would break in the shop: one bench's broken file, or one stranger's script, takes the service from everybody. */
const requestsInAll = Number(process.env.HOSTILE_REQUESTS ?? 20_000);
const seed = Number(process.env.HOSTILE_SEED ?? randomInt(2 ** 31));
const longestMilliseconds = 2_000;
const atOnce = 4;
const portion = 20;

const metricsToken = "a token of this test alone";
let shop: TestApp;
const cookies = new Map<Role | null, string>();
let ids: string[];

beforeAll(async () => {
  // The requests are made up in the same process, which holds its event loop up.
  shop = await testApp(
    { EVENT_LOOP_DELAY_MILLISECONDS: "60000", METRICS_TOKEN: metricsToken },
    { demo: true, log: true },
  );
  // A report's evidence is given out once its release stands in the log.
  while ((await shop.admin.query("SELECT FROM log_pending LIMIT 1")).rowCount !== 0) await sleep(100);
  for (const role of roles) cookies.set(role, await aCookie((await shop.signIn(role)).username));
  ids = await idsOnRecord();
}, 600_000);
afterAll(() => shop.close());

async function aCookie(username: string): Promise<string> {
  const reply = await shop.app.inject({
    method: "POST",
    url: "/api/session",
    payload: { username, password: testPassword },
  });
  const [cookie] = String(reply.headers["set-cookie"]).split(";");
  if (reply.statusCode !== 200 || cookie === undefined) throw new Error(reply.body);
  return cookie;
}

/** Some ids of every table that has one, and some that nobody has. */
async function idsOnRecord(): Promise<string[]> {
  const { rows: tables } = await shop.admin.query<{ name: string }>(
    `SELECT c.relname AS name FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid
     WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND a.attname = 'id'
       AND a.atttypid = 'uuid'::regtype
     ORDER BY 1`,
  );
  const found: string[] = [];
  for (const { name } of tables) {
    // The people who ask here must stay able to ask.
    const others = name === "account" ? "WHERE username NOT LIKE 'person%'" : "";
    const { rows } = await shop.admin.query<{ id: string }>(
      `SELECT id FROM ${name} ${others} ORDER BY id DESC LIMIT 4`,
    );
    found.push(...rows.map(({ id }) => id));
  }
  return [...found, ...Array.from({ length: 20 }, newId)];
}

/** What is wrong with how the service answered; null when nothing is. */
async function wrongWith(request: HostileRequest): Promise<string | null> {
  const { role, method, url, headers, payload } = request;
  const cookie = cookies.get(role);
  const began = performance.now();
  const reply = await shop.app.inject({
    method,
    url,
    headers: cookie === undefined ? headers : { cookie, ...headers },
    ...(payload === undefined ? {} : { payload }),
  });
  const took = performance.now() - began;
  if (reply.statusCode >= 500) return `answered ${reply.statusCode}: ${reply.body.slice(0, 300)}`;
  if (took > longestMilliseconds) return `took ${Math.round(took)} ms`;
  if (/\n\s+at .+:\d+:\d+|node_modules|file:\/\/\//.test(reply.body)) return "shows a stack trace";
  if (reply.statusCode < 400) return null;
  if (!String(reply.headers["content-type"]).startsWith("application/problem+json")) {
    return `answered ${reply.statusCode} without problem details: ${reply.body.slice(0, 200)}`;
  }
  const problem = problemSchema.safeParse(JSON.parse(reply.body));
  if (!problem.success) return `answered no problem: ${reply.body.slice(0, 200)}`;
  return problem.data.requestId === reply.headers["x-request-id"] ? null : "names another request's id";
}

/** A slow answer may be the machine's fault: it counts when it is slow again, by itself. */
async function surelyWrongWith(request: HostileRequest): Promise<string | null> {
  const what = await wrongWith(request);
  return what?.startsWith("took") ? await wrongWith(request) : what;
}

function told(operation: Operation, { role, method, url, headers, payload }: HostileRequest, what: string) {
  return [
    `${operation.id} as ${role ?? "a stranger"} ${what}`,
    `  ${method} ${url.slice(0, 300)}`,
    `  ${JSON.stringify(headers).slice(0, 300)}`,
    `  ${String(payload).slice(0, 600)}`,
  ].join("\n");
}

describe(`${requestsInAll} hostile requests over all operations (HOSTILE_SEED=${seed})`, () => {
  it("are answered in time, without a failure and without a look inside", async () => {
    // Signing out ends the session that the other requests lean on: it is asked last.
    const order = [...operations].sort(
      (one, other) => Number(one.id === "people.closeSession") - Number(other.id === "people.closeSession"),
    );
    const portions = Math.ceil(requestsInAll / order.length / portion);
    const wrong: string[] = [];
    let asked = 0;
    for (const [index, operation] of order.entries()) {
      const requests = hostileRequests(operation, ids);
      for (let at = 0; at < portions && wrong.length < 40; at++) {
        // Made up before any is sent, so that making them up is not counted as answering.
        const waiting = fc.sample(requests, { numRuns: portion, seed: seed + index * 1_000 + at }).values();
        await Promise.all(
          Array.from({ length: atOnce }, async () => {
            for (const request of waiting) {
              asked += 1;
              const what = await surelyWrongWith(request);
              if (what !== null) wrong.push(told(operation, request, what));
            }
          }),
        );
      }
    }
    expect(wrong.join("\n\n")).toBe("");
    expect(asked).toBeGreaterThanOrEqual(requestsInAll);
    expect(({} as { polluted?: unknown }).polluted).toBeUndefined();
  }, 1_800_000);

  it("leave the service ready, with no request still counted as under way", async () => {
    expect((await shop.app.inject("/readyz")).json()).toMatchObject({ checks: expect.any(Array) });
    expect((await shop.app.inject("/livez")).statusCode).toBe(200);
    const metrics = await shop.app.inject({
      url: "/metrics",
      headers: { authorization: `Bearer ${metricsToken}` },
    });
    expect(metrics.body).toMatch(/^sealbook_requests_under_way 0$/m);
    expect(metrics.body).toMatch(/^sealbook_database_waiting 0$/m);
  });
});

/** Bytes that are no HTTP, or not quite (RFC 9112), and what may be answered: a refusal, or a closed connection. */
const rawRequests: readonly {
  readonly what: string;
  readonly bytes: string | Buffer;
  /** An address of no file is one of the page's own. */
  readonly givesPage?: true;
}[] = [
  { what: "noise", bytes: Buffer.from(Array.from({ length: 512 }, (_, at) => (at * 131) % 256)) },
  { what: "a TLS hello", bytes: Buffer.from("16030100a5010000a10303", "hex") },
  { what: "no version", bytes: "GET /api/shop\r\n\r\n" },
  { what: "an unknown method", bytes: "STEAL /api/shop HTTP/1.1\r\nHost: x\r\n\r\n" },
  { what: "no host", bytes: "GET /api/shop HTTP/1.1\r\n\r\n" },
  { what: "two hosts", bytes: "GET /api/shop HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n" },
  { what: "NUL in the address", bytes: "GET /api/\0 HTTP/1.1\r\nHost: x\r\n\r\n" },
  { what: "NUL in a header", bytes: "GET /api/shop HTTP/1.1\r\nHost: x\r\nX: a\0b\r\n\r\n" },
  { what: "a folded header", bytes: "GET /api/shop HTTP/1.1\r\nHost: x\r\nX: a\r\n b\r\n\r\n" },
  { what: "a header without a name", bytes: "GET /api/shop HTTP/1.1\r\nHost: x\r\n: b\r\n\r\n" },
  { what: "a space before the colon", bytes: "GET /api/shop HTTP/1.1\r\nHost : x\r\n\r\n" },
  {
    what: "a header of 100 kB",
    bytes: `GET /api/shop HTTP/1.1\r\nHost: x\r\nX: ${"a".repeat(100_000)}\r\n\r\n`,
  },
  { what: "an address of 100 kB", bytes: `GET /api/${"a".repeat(100_000)} HTTP/1.1\r\nHost: x\r\n\r\n` },
  {
    what: "4,000 headers",
    bytes: `GET /api/shop HTTP/1.1\r\nHost: x\r\n${Array.from({ length: 4_000 }, (_, at) => `X${at}: y\r\n`).join("")}\r\n`,
  },
  {
    what: "length and chunks at once",
    bytes:
      "POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\nGET /api/shop HTTP/1.1\r\nHost: x\r\n\r\n",
  },
  {
    what: "two lengths",
    bytes:
      "POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 2\r\nContent-Length: 3\r\n\r\n{}",
  },
  {
    what: "a length below zero",
    bytes:
      "POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: -1\r\n\r\n{}",
  },
  {
    what: "a length beyond all bounds",
    bytes:
      "POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 99999999999999999999\r\n\r\n{}",
  },
  {
    what: "more than the service takes, announced",
    bytes:
      "POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 2000000\r\n\r\n{}",
  },
  {
    what: "a chunk that is none",
    bytes:
      "POST /api/session HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n{}\r\n",
  },
  {
    what: "an encoding nobody knows",
    bytes: "POST /api/session HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: cow\r\n\r\n",
  },
  {
    what: "another host's address",
    bytes: "GET http://elsewhere.example/api/shop HTTP/1.1\r\nHost: x\r\n\r\n",
  },
  { what: "a tunnel", bytes: "CONNECT elsewhere.example:443 HTTP/1.1\r\nHost: x\r\n\r\n" },
  {
    what: "an upgrade",
    bytes: "GET /api/shop HTTP/1.1\r\nHost: x\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n\r\n",
  },
  { what: "HTTP/2 at once", bytes: "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n" },
  {
    what: "climbing out",
    bytes: "GET /../../../../etc/passwd HTTP/1.1\r\nHost: x\r\n\r\n",
    givesPage: true,
  },
  {
    what: "climbing out, encoded",
    bytes: "GET /assets/..%2f..%2f..%2fpackage.json HTTP/1.1\r\nHost: x\r\n\r\n",
  },
  { what: "an address that cannot be decoded", bytes: "GET /api/%zz HTTP/1.1\r\nHost: x\r\n\r\n" },
  {
    what: "a header that would make two",
    bytes: "GET /api/shop HTTP/1.1\r\nHost: x\r\nCookie: sealbook=a\rSet-Cookie: b\r\n\r\n",
  },
];

describe("bytes that are no proper HTTP", () => {
  let port: number;
  beforeAll(async () => {
    await shop.app.listen({ host: "127.0.0.1", port: 0 });
    const address = shop.app.server.address();
    port = typeof address === "object" && address !== null ? address.port : 0;
  });

  for (const { what, bytes, givesPage } of rawRequests) {
    it(`(${what}) are refused or hung up on, soon and without a look inside`, async () => {
      const { text, milliseconds } = await sent(bytes);
      const statuses = [...text.matchAll(/^HTTP\/1\.1 (\d{3})/gm)].map(([, status]) => Number(status));
      const isPage = givesPage === true && /<!doctype html>/i.test(text);
      expect(statuses.filter((status) => status >= 500 || (status < 400 && !isPage))).toEqual([]);
      expect(text).not.toMatch(/\n\s+at .+:\d+:\d+|node_modules|root:/);
      expect(milliseconds).toBeLessThan(longestMilliseconds);
    });
  }

  async function sent(bytes: string | Buffer): Promise<{ text: string; milliseconds: number }> {
    const began = performance.now();
    const text = await new Promise<string>((resolve) => {
      let got = "";
      const socket = connect(port, "127.0.0.1", () => socket.write(bytes));
      socket.setTimeout(longestMilliseconds + 500, () => socket.destroy());
      socket.on("data", (chunk) => {
        got += chunk.toString("latin1");
        // A keep-alive connection stays open after its answer.
        if (got.includes("\r\n\r\n")) setTimeout(() => socket.end(), 50);
      });
      socket.on("error", () => undefined);
      socket.on("close", () => resolve(got));
    });
    return { text, milliseconds: performance.now() - began };
  }
});
