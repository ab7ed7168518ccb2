import { buildApp } from "@sealbook/api/app";
import { readConfig } from "@sealbook/api/config";
import { createPerson } from "@sealbook/api/modules/people/people";
import { openDatabase } from "@sealbook/api/platform/database";
import { hashSecret } from "@sealbook/api/platform/secrets";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { operations } from "@sealbook/contract/operations";
import { may, type Permission, permissions, type Role, roles } from "@sealbook/contract/permissions";
import { type TokenScope, tokenMay, tokenScopes } from "@sealbook/contract/token-scopes";
import { pino } from "pino";
import request, { type Agent } from "supertest";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPassword, testPin } from "../support/app.ts";

let shop: TestApp;
let administrator: SignedIn;

beforeAll(async () => {
  shop = await testApp();
  administrator = await shop.signIn("administrator");
});
afterAll(() => shop.close());

const someId = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f";
const signIn = (agent: Agent, username: string, password: string) =>
  agent.post("/api/session").send({ username, password });

/** A person who has never signed in: no browser is known for them. */
async function aPerson(role: Role = "technician") {
  const id = newId();
  const username = `p${id.slice(-10)}`;
  await inTransaction(shop.admin, null, (tx) =>
    createPerson(tx, { id, username, name: `Person ${id.slice(-4)}`, role, password: testPassword }),
  );
  return { id, username };
}

/** The same service as it stands behind HTTPS. */
async function appOnHttps({ database }: TestApp) {
  const config = readConfig({
    LOG_LEVEL: "silent",
    COOKIE_SECURE: "true",
    EVENT_LOOP_DELAY_MILLISECONDS: "60000",
  });
  const log = pino({ level: "silent" });
  const opened = openDatabase(database.appUrl, config, log);
  const app = await buildApp({ config, database: opened, log });
  await app.ready();
  return {
    server: app.server,
    async close() {
      await app.close();
      await opened.close();
    },
  };
}

const waitIsOver = () => shop.admin.query("UPDATE failed_try SET free_at = clock_timestamp()");

describe("signing in with a wrong password", () => {
  it("waits twice as long each time from the fifth on, to five minutes at most, whatever the address", async () => {
    const { username } = await aPerson();
    for (let n = 1; n <= 4; n++) await signIn(shop.stranger(), username, "wrong password").expect(401);
    const waits: number[] = [];
    for (let n = 5; n <= 13; n++) {
      await signIn(shop.stranger(), username, "wrong password").expect(401);
      const waiting = await signIn(shop.stranger(), username, testPassword).expect(429);
      expect(waiting.body.type).toBe("/problems/too-many-requests");
      waits.push(Number(waiting.headers["retry-after"]));
      await waitIsOver();
    }
    expect(waits).toEqual([5, 10, 20, 40, 80, 160, 300, 300, 300]);
    await signIn(shop.stranger(), username, testPassword).expect(200);
    // The right one ends the count.
    await signIn(shop.stranger(), username, "wrong password").expect(401);
    await signIn(shop.stranger(), username, testPassword).expect(200);
  });

  it("is answered alike for a name that nobody has, and recorded without it", async () => {
    const { id, username } = await aPerson();
    const unknown = `nobody${someId.slice(-6)}`;
    const story = async (name: string) => {
      const replies = [];
      for (let n = 1; n <= 6; n++) {
        const { status, body, headers } = await signIn(shop.stranger(), name, "wrong password");
        const { requestId: _, ...told } = body;
        replies.push({ status, told, retryAfter: headers["retry-after"] });
      }
      return replies;
    };
    expect(await story(unknown)).toEqual(await story(username));
    const { rows } = await shop.admin.query(
      "SELECT subject_type, subject_id, payload FROM ledger_entry WHERE action = 'account.refuse' ORDER BY id",
    );
    expect(rows.map(({ subject_type }) => subject_type)).toEqual(
      expect.arrayContaining(["signIn", "account"]),
    );
    expect(rows.some(({ subject_id }) => subject_id === id)).toBe(true);
    expect(JSON.stringify(rows)).not.toContain(unknown);
  });

  it("by a stranger does not keep the owner out who signed in from this browser before", async () => {
    const { username } = await aPerson();
    const own = shop.stranger();
    await signIn(own, username, testPassword).expect(200);
    for (let n = 1; n <= 5; n++) await signIn(shop.stranger(), username, "wrong password").expect(401);
    await signIn(shop.stranger(), username, testPassword).expect(429);
    await signIn(own, username, testPassword).expect(200);
  });

  it("is counted one after the other when a crowd of tries comes at once", async () => {
    const { username } = await aPerson();
    const replies = await Promise.all(
      Array.from({ length: 30 }, () => signIn(shop.stranger(), username, "wrong password")),
    );
    const looked = replies.filter(({ status }) => status === 401).length;
    expect(looked).toBe(5);
    expect(replies.filter(({ status }) => status === 429).length).toBe(25);
  });
});

describe("a password that is hashed by an older strength", () => {
  it("is hashed by today's when its owner signs in, with an entry", async () => {
    const { id, username } = await aPerson();
    // The test password by Argon2id with 8 MiB and one pass, as a service of some years ago may have kept it.
    const weak =
      "$argon2id$v=19$m=8192,t=1,p=1$ssN+W27FjJr0VHCkTNnkUQ$LsxZmbOeGW7c6KfvwHzNhyM0XDfctvzb62C2Owi4zbA";
    await inTransaction(shop.admin, null, async (tx) => {
      const entryId = newId();
      await tx.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'account.setPassword', 'account', $2, '{}')",
        [entryId, id],
      );
      await tx.query("UPDATE account SET password_hash = $2, entry_id = $3 WHERE id = $1", [
        id,
        weak,
        entryId,
      ]);
    });
    await signIn(shop.stranger(), username, testPassword).expect(200);
    const { rows } = await shop.admin.query("SELECT password_hash FROM account WHERE id = $1", [id]);
    expect(rows[0].password_hash).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
    await signIn(shop.stranger(), username, testPassword).expect(200);
    const entries = await shop.admin.query(
      "SELECT FROM ledger_entry WHERE action = 'account.rehash' AND subject_id = $1",
      [id],
    );
    expect(entries.rowCount).toBe(1);
  });
});

describe("a password that an administrator gives", () => {
  it("opens nothing but its own change, and then everything", async () => {
    const { id, username } = await aPerson();
    const lost = shop.stranger();
    await signIn(lost, username, testPassword).expect(200);
    const given = await administrator.agent
      .put(`/api/people/${id}/password`)
      .send({ reason: "Forgot it over the holidays" })
      .expect(200);
    await lost.get("/api/session").expect(401);
    await signIn(shop.stranger(), username, testPassword).expect(401);

    const agent = shop.stranger();
    const opened = await signIn(agent, username, given.body.password).expect(200);
    expect(opened.body.account.mustChangePassword).toBe(true);
    const refused = await agent.get("/api/meters").expect(403);
    expect(refused.body.type).toBe("/problems/password-change-needed");
    const same = { currentPassword: given.body.password, newPassword: given.body.password };
    await agent.put("/api/session/password").send(same).expect(422);
    await agent
      .put("/api/session/password")
      .send({ currentPassword: given.body.password, newPassword: "four green kettles" })
      .expect(204);
    await agent.get("/api/meters").expect(200);
    await signIn(shop.stranger(), username, given.body.password).expect(401);
  });

  it("runs out after three days", async () => {
    const { id, username } = await aPerson();
    const given = await administrator.agent
      .put(`/api/people/${id}/password`)
      .send({ reason: "Forgot it over the holidays" })
      .expect(200);
    const hours = (Date.parse(given.body.until) - Date.now()) / 3_600_000;
    expect(hours).toBeGreaterThan(71.9);
    expect(hours).toBeLessThan(72.1);
    await inTransaction(shop.admin, null, async (tx) => {
      const entryId = newId();
      await tx.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'account.change', 'account', $2, '{}')",
        [entryId, id],
      );
      await tx.query(
        "UPDATE account SET password_until = clock_timestamp() - interval '1 second', entry_id = $2 WHERE id = $1",
        [id, entryId],
      );
    });
    const late = await signIn(shop.stranger(), username, given.body.password).expect(401);
    expect(late.body.detail).toContain("run out");
  });

  it("is asked for at an account's first use, too", async () => {
    const username = "newcomer";
    await administrator.agent
      .post("/api/people")
      .send({ id: newId(), username, name: "New Comer", role: "technician", password: testPassword })
      .expect(201);
    const agent = shop.stranger();
    await signIn(agent, username, testPassword).expect(200);
    expect((await agent.get("/api/meters").expect(403)).body.type).toBe("/problems/password-change-needed");
  });
});

describe("hashing passwords", () => {
  it("is done for four at once while fifty wait, and the next are told to come again", async () => {
    const crowd = await Promise.allSettled(Array.from({ length: 60 }, () => hashSecret("nine blue ladders")));
    const refused = crowd.filter((one) => one.status === "rejected");
    expect(refused.length).toBe(6);
    for (const { reason } of refused) expect(reason).toMatchObject({ slug: "unavailable" });
    // Whoever comes afterwards finds the place free.
    expect(await hashSecret("nine blue ladders")).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
  });
});

describe("a password of one's own", () => {
  it.each([
    // From memory of published lists of leaked passwords.
    "1q2w3e4r5t",
    "qwertyuiop",
    "P@ssw0rd123!",
    "Football2026!",
    "kilowatthour",
    "1234567890",
  ])("is not %s", async (newPassword) => {
    const { username } = await aPerson();
    const agent = shop.stranger();
    await signIn(agent, username, testPassword).expect(200);
    const refused = await agent
      .put("/api/session/password")
      .send({ currentPassword: testPassword, newPassword })
      .expect(422);
    expect(refused.body.errors).toMatchObject([{ pointer: "/newPassword" }]);
  });

  it("may be of any characters, spaces and 200 of them, and is taken whole", async () => {
    const { username } = await aPerson();
    const agent = shop.stranger();
    await signIn(agent, username, testPassword).expect(200);
    const newPassword = `${"grün 雪 kettle ".repeat(20).slice(0, 199)}.`;
    await agent.put("/api/session/password").send({ currentPassword: testPassword, newPassword }).expect(204);
    await signIn(shop.stranger(), username, newPassword.slice(0, -1)).expect(401);
    await signIn(shop.stranger(), username, newPassword).expect(200);
  });
});

describe("cookies and headers", () => {
  it("bind the session to this host over HTTPS, out of reach of scripts and of other sites", async () => {
    const { username } = await aPerson();
    const secure = await appOnHttps(shop);
    try {
      const reply = await request(secure.server)
        .post("/api/session")
        .send({ username, password: testPassword })
        .expect(200);
      const cookies = reply.headers["set-cookie"] as unknown as string[];
      expect(cookies.map((cookie) => cookie.split("=")[0]).sort()).toEqual([
        "__Host-sealbook",
        "__Host-sealbook-browser",
      ]);
      for (const cookie of cookies) {
        expect(cookie).toMatch(/; Path=\//);
        expect(cookie).toMatch(/; HttpOnly/);
        expect(cookie).toMatch(/; Secure/);
        expect(cookie).toMatch(/; SameSite=Strict/);
        expect(cookie).not.toMatch(/; Domain/);
      }
      expect(reply.headers["strict-transport-security"]).toBe("max-age=63072000; includeSubDomains");
    } finally {
      await secure.close();
    }
  });

  it("let no foreign script run, no page frame ours, no reply be taken for another kind or be kept", async () => {
    for (const path of ["/api/session", "/problems/not-found", "/livez"]) {
      const { headers } = await shop.stranger().get(path);
      const policy = headers["content-security-policy"] ?? "";
      for (const directive of [
        "default-src 'none'",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
      ]) {
        expect(policy, path).toContain(directive);
      }
      expect(policy).toMatch(/script-src 'self'(;|$)/);
      expect(policy).not.toContain("unsafe");
      expect(headers["x-content-type-options"], path).toBe("nosniff");
      expect(headers["referrer-policy"], path).toBe("no-referrer");
      expect(headers["access-control-allow-origin"], path).toBeUndefined();
    }
    const { headers } = await shop.stranger().get("/api/session");
    expect(headers["cache-control"]).toBe("no-store");
  });

  it("of a session before are worth nothing once somebody signs in anew from the same browser", async () => {
    const { username } = await aPerson();
    const agent = shop.stranger();
    const first = await signIn(agent, username, testPassword).expect(200);
    const old = (first.headers["set-cookie"] as unknown as string[])
      .map((one) => one.split(";")[0])
      .join("; ");
    await signIn(agent, username, testPassword).expect(200);
    await request(shop.app.server).get("/api/session").set("cookie", old).expect(401);
    await agent.get("/api/session").expect(200);
  });
});

describe("sessions", () => {
  it("are listed to their owner, who ends one; its next request is refused", async () => {
    const { username } = await aPerson();
    const [desk, tablet] = [shop.stranger(), shop.stranger()];
    await signIn(desk, username, testPassword).set("user-agent", "Desk browser").expect(200);
    await signIn(tablet, username, testPassword).set("user-agent", "Tablet browser").expect(200);
    const { rows } = (await desk.get("/api/sessions").expect(200)).body;
    expect(
      rows.map(({ browser, isThis }: { browser: string; isThis: boolean }) => [browser, isThis]),
    ).toEqual([
      ["Tablet browser", false],
      ["Desk browser", true],
    ]);
    await desk.delete(`/api/sessions/${rows[0].id}`).expect(204);
    await tablet.get("/api/session").expect(401);
    await desk.delete(`/api/sessions/${rows[0].id}`).expect(404);
    const other = await shop.signIn("technician");
    await other.agent.delete(`/api/sessions/${rows[1].id}`).expect(404);
    await desk.get("/api/session").expect(200);
  });

  it("of a person are ended by an administrator, one or all, with a reason in the ledger", async () => {
    const { id, username } = await aPerson();
    const agents = [shop.stranger(), shop.stranger(), shop.stranger()];
    for (const agent of agents) await signIn(agent, username, testPassword).expect(200);
    const { rows } = (await administrator.agent.get(`/api/people/${id}/sessions`).expect(200)).body;
    expect(rows).toHaveLength(3);
    const end = (sessionId: string | null) =>
      administrator.agent
        .post(`/api/people/${id}/sessions/end`)
        .send({ sessionId, reason: "The tablet was left in a van" });
    await end(rows[0].id).expect(204);
    await agents[2]?.get("/api/session").expect(401);
    await end(null).expect(204);
    for (const agent of agents) await agent.get("/api/session").expect(401);
    const entries = await administrator.agent
      .get("/api/ledger")
      .query({ subjectId: id, action: "account.endSessions" })
      .expect(200);
    expect(entries.body.rows.map(({ payload }: { payload: string }) => JSON.parse(payload).sessions)).toEqual(
      [2, 1],
    );
  });

  it("end with the account, at the very next request", async () => {
    const person = await shop.signIn("technician");
    const { body } = await administrator.agent.get(`/api/people/${person.id}`).expect(200);
    await administrator.agent
      .put(`/api/people/${person.id}`)
      .set("if-match", `"${body.version}"`)
      .send({ name: body.name, role: body.role, active: false, reason: "Left the shop" })
      .expect(200);
    await person.agent.get("/api/session").expect(401);
    await signIn(shop.stranger(), person.username, testPassword).expect(401);
  });

  it("that are closed tell the browser to forget its pages, and keep what waits to be sent", async () => {
    const person = await shop.signIn("technician");
    const left = await person.agent.delete("/api/session").expect(204);
    expect(left.headers["clear-site-data"]).toBe('"cache"');
    await person.agent.get("/api/session").expect(401);
  });
});

async function aToken(owner: SignedIn, scopes: readonly TokenScope[], over: object = {}) {
  const id = newId();
  const { body } = await owner.agent
    .post("/api/tokens")
    .send({ id, name: "Bench 3", scopes, days: 30, ownPassword: testPassword, ...over })
    .expect(201);
  return { id, secret: body.secret as string };
}

const withToken = (secret: string) => ({
  get: (path: string) => request(shop.app.server).get(path).set("authorization", `Bearer ${secret}`),
  post: (path: string) => request(shop.app.server).post(path).set("authorization", `Bearer ${secret}`),
});

describe("an API token", () => {
  it("ends when an administrator resets its owner's password, for good", async () => {
    const owner = await shop.signIn("technician");
    const { secret } = await aToken(owner, ["read"]);
    await withToken(secret).get("/api/meters").expect(200);
    const given = await administrator.agent
      .put(`/api/people/${owner.id}/password`)
      .send({ reason: "The password was seen" })
      .expect(200);
    await withToken(secret).get("/api/meters").expect(401);
    const again = request.agent(shop.app.server);
    await again
      .post("/api/session")
      .send({ username: owner.username, password: given.body.password })
      .expect(200);
    const own = { currentPassword: given.body.password, newPassword: "eleven quiet herons" };
    await again.put("/api/session/password").send(own).expect(204);
    await withToken(secret).get("/api/meters").expect(401);
  });

  it("is shown once, kept as a hash, and named in what it writes", async () => {
    const engineer = await shop.signIn("quality-engineer");
    const { id, secret } = await aToken(engineer, ["run-imports"]);
    expect(secret).toMatch(/^sealbook_[A-Za-z0-9_-]{43}$/);
    const { rows } = await shop.admin.query("SELECT t::text AS row FROM api_token t WHERE id = $1", [id]);
    expect(rows[0].row).not.toContain(secret.slice(9));
    const replies = await shop.admin.query("SELECT FROM idempotent_request WHERE position($1 IN reply) > 0", [
      secret,
    ]);
    expect(replies.rowCount).toBe(0);
    await withToken(secret).get("/api/imports").expect(200);
    const { body } = await engineer.agent.get("/api/tokens").expect(200);
    expect(body.rows).toMatchObject([{ id, name: "Bench 3", scopes: ["run-imports"], revokedAt: null }]);
    expect(body.rows[0].lastUsedAt).not.toBeNull();
    expect(JSON.stringify(body)).not.toContain(secret.slice(9));

    const sent = await withToken(secret)
      .post("/api/files")
      .query({ id: newId() })
      .attach("file", Buffer.from("a,b\n1,2\n"), "list.csv")
      .expect(201);
    const entry = await engineer.agent.get("/api/ledger").query({ subjectId: sent.body.id }).expect(200);
    expect(entry.body.rows[0].actor.id).toBe(engineer.id);
    expect(JSON.parse(entry.body.rows[0].payload).byToken).toBe(id);
  });

  it("opens nothing once it is revoked, has run out, or its owner's account is closed", async () => {
    const owner = await shop.signIn("technician");
    const [revoked, expired, orphaned] = [
      await aToken(owner, ["read"]),
      await aToken(owner, ["read"]),
      await aToken(owner, ["read"]),
    ];
    for (const { secret } of [revoked, expired, orphaned])
      await withToken(secret).get("/api/meters").expect(200);
    await owner.agent.post(`/api/tokens/${revoked.id}/revoke`).send({}).expect(200);
    await withToken(revoked.secret).get("/api/meters").expect(401);
    await owner.agent.post(`/api/tokens/${revoked.id}/revoke`).send({}).expect(409);

    await inTransaction(shop.admin, null, async (tx) => {
      const entryId = newId();
      await tx.query(
        "INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload) VALUES ($1, 'apiToken.create', 'apiToken', $2, '{}')",
        [entryId, expired.id],
      );
      await tx.query(
        "UPDATE api_token SET created_at = created_at - interval '31 days', expires_at = expires_at - interval '31 days', entry_id = $2 WHERE id = $1",
        [expired.id, entryId],
      );
    });
    await withToken(expired.secret).get("/api/meters").expect(401);

    const stranger = await shop.signIn("technician");
    await stranger.agent.post(`/api/tokens/${orphaned.id}/revoke`).send({}).expect(404);
    const { body } = await administrator.agent.get(`/api/people/${owner.id}`).expect(200);
    await administrator.agent
      .put(`/api/people/${owner.id}`)
      .set("if-match", `"${body.version}"`)
      .send({ name: body.name, role: body.role, active: false, reason: "Left the shop" })
      .expect(200);
    await withToken(orphaned.secret).get("/api/meters").expect(401);
    const tokens = await administrator.agent.get(`/api/people/${owner.id}/tokens`).expect(200);
    expect(tokens.body.rows.find((one: { id: string }) => one.id === orphaned.id).revokedAt).not.toBeNull();
  });

  it("lives a year at most, and is made by nobody but its owner with the password", async () => {
    const owner = await shop.signIn("technician");
    const ask = (over: object) =>
      owner.agent.post("/api/tokens").send({
        id: newId(),
        name: "Bench 3",
        scopes: ["read"],
        days: 30,
        ownPassword: testPassword,
        ...over,
      });
    await ask({ days: 366 }).expect(400);
    await ask({ scopes: ["everything"] }).expect(400);
    await ask({ ownPassword: "wrong password" }).expect(401);
    const { secret } = await aToken(owner, ["read", "record-tests", "run-imports"]);
    const body = { id: newId(), name: "Another", scopes: ["read"], days: 30, ownPassword: testPassword };
    const refused = await withToken(secret).post("/api/tokens").send(body).expect(403);
    expect(refused.body.detail).toBe("This API token was not made for this.");
    const regulator = await shop.signIn("regulator");
    await regulator.agent.post("/api/tokens").send(body).expect(403);
  });

  it("needs no cookie and no page of ours, and no cookie opens more than it does", async () => {
    const engineer = await shop.signIn("quality-engineer");
    const { secret } = await aToken(engineer, ["run-imports"]);
    // The engineer's own cookie would open this; with a token in the header it is not looked at.
    await engineer.agent.get("/api/ledger").expect(200);
    await engineer.agent.get("/api/ledger").set("authorization", `Bearer ${secret}`).expect(403);
    await engineer.agent.get("/api/ledger").set("authorization", "Bearer something else").expect(401);
  });

  it("signs nothing, whatever it was made for", async () => {
    const technician = await shop.signIn("technician");
    const { secret } = await aToken(technician, ["record-tests"]);
    const signed = await withToken(secret)
      .post("/api/meter-tests/signatures")
      .set("idempotency-key", newId())
      .send({ testIds: [someId], pin: testPin });
    expect([signed.status, signed.body.type]).toEqual([403, "/problems/not-permitted"]);
  });
});

/** Written by hand from what each scope is for, not read from the table that it is held against. */
const wanted: Record<TokenScope, readonly Permission[]> = {
  "record-tests": ["meterTest.record", "meter.read", "standard.read", "testPlan.read", "workItem.read"],
  "run-imports": ["import.run", "import.read", "file.add"],
  read: ["meter.read", "meterTest.read", "ledger.read", "report.read", "sampling.read", "standard.read"],
};
const neverByToken: readonly Permission[] = [
  "session.self",
  "token.own",
  "person.read",
  "person.manage",
  "meterTest.sign",
  "meterTest.amend",
  "sampling.decide",
  "sampling.approve",
  "shop.manage",
  "standard.manage",
  "profile.decide",
];

describe("the table of scopes", () => {
  it("opens what each scope is for and never what only a person does", () => {
    for (const scope of tokenScopes) {
      for (const permission of wanted[scope]) expect(tokenMay("supervisor", [scope], permission)).toBe(true);
    }
    for (const permission of neverByToken) {
      for (const role of roles) expect(tokenMay(role, tokenScopes, permission), permission).toBe(false);
    }
    for (const permission of Object.keys(permissions) as Permission[]) {
      for (const role of roles) {
        if (tokenMay(role, tokenScopes, permission)) expect(may(role, permission), permission).toBe(true);
      }
    }
  });

  for (const scope of tokenScopes) {
    it(`is what the service does for "${scope}", operation by operation`, async () => {
      const owner = await shop.signIn("supervisor");
      const { secret } = await aToken(owner, [scope]);
      const wrong: string[] = [];
      for (const operation of operations) {
        const path = `/api${operation.path.replaceAll(/:[a-z]+/gi, someId)}`;
        const method = operation.method.toLowerCase() as "get" | "post" | "put" | "delete";
        const asking = request(shop.app.server)
          [method](path)
          .set("authorization", `Bearer ${secret}`)
          .set("if-match", '"1"')
          .set("idempotency-key", newId());
        const reply = operation.method === "GET" ? await asking : await asking.send({});
        const isRefused = reply.body?.type === "/problems/not-permitted";
        if (tokenMay("supervisor", [scope], operation.permission) === isRefused) {
          wrong.push(`${operation.id}: ${reply.status} ${reply.text.slice(0, 80)}`);
        }
      }
      expect(wrong).toEqual([]);
    });
  }
});

describe("the regulator's door", () => {
  it("opens on rules, calculations, the log and released reports, and on nothing else", () => {
    const open = (Object.keys(permissions) as Permission[]).filter((one) => may("regulator", one));
    expect(open.sort()).toEqual(
      [
        "calculation.run",
        "log.read",
        "profile.read",
        "report.read",
        "service.health",
        "session.open",
        "session.self",
        "shop.read",
      ].sort(),
    );
  });

  it("records every look before it is answered, refused ones too, and shows them to the shop alone", async () => {
    const regulator = await shop.signIn("regulator");
    await regulator.agent.get("/api/profiles?limit=5").expect(200);
    await regulator.agent.get(`/api/meters/${someId}`).expect(403);
    await regulator.agent.get("/api/session").expect(200);
    const { body } = await administrator.agent.get("/api/looks").query({ actorId: regulator.id }).expect(200);
    expect(
      body.rows.map((look: { operation: string; parameters: string; allowed: boolean }) => [
        look.operation,
        JSON.parse(look.parameters),
        look.allowed,
      ]),
    ).toEqual([
      ["meters.get", { id: someId }, false],
      ["profiles.list", { limit: "5" }, true],
    ]);
    expect(body.rows[1]).toMatchObject({
      person: { id: regulator.id },
      summary: expect.stringMatching(/\w/),
    });
    await regulator.agent.get("/api/looks").expect(403);
    const day = body.rows[0].at.slice(0, 10);
    const none = await administrator.agent
      .get("/api/looks")
      .query({ actorId: regulator.id, to: `${Number(day.slice(0, 4)) - 1}-01-01` })
      .expect(200);
    expect(none.body.rows).toEqual([]);
  });

  it("keeps looks as they were written", async () => {
    const client = await shop.admin.connect();
    try {
      await expect(client.query("UPDATE look SET allowed = true")).rejects.toMatchObject({ code: "23001" });
      await expect(client.query("DELETE FROM look")).rejects.toMatchObject({ code: "23001" });
    } finally {
      client.release();
    }
  });
});
