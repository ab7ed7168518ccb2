import type { Operation } from "@sealbook/contract/operation";
import { operations } from "@sealbook/contract/operations";
import { may, type Role, roles } from "@sealbook/contract/permissions";
import { problemSchema, problems } from "@sealbook/contract/problems";
import type { Agent } from "supertest";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";

let shop: TestApp;
const agents = new Map<Role | null, Agent>();

beforeAll(async () => {
  shop = await testApp();
  agents.set(null, shop.stranger());
  for (const role of roles) agents.set(role, (await shop.signIn(role)).agent);
});
afterAll(() => shop.close());

const someId = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f";

/** A request that reaches the permission check and, past it, fails for its empty body or its unknown id. */
async function ask(role: Role | null, operation: Operation) {
  const agent = agents.get(role);
  if (agent === undefined) throw new Error("every role is signed in");
  const path = `/api${operation.path.replaceAll(/:[a-z]+/gi, someId)}`;
  const method = operation.method.toLowerCase() as "get" | "post" | "put" | "delete";
  const request = agent[method](path).set("if-match", '"1"').set("idempotency-key", someId);
  return operation.method === "GET" ? await request : await request.send({});
}

describe("the table of permissions is what the service does", () => {
  // Signing out would end the session that the other rows lean on.
  const walked = operations.filter(({ id }) => id !== "people.closeSession");

  for (const role of [null, ...roles]) {
    it(`answers ${role ?? "a stranger"} for each of the operations as the table says`, async () => {
      const wrong: string[] = [];
      for (const operation of walked) {
        const reply = await ask(role, operation);
        const allowed = may(role, operation.permission);
        const refusedStatus = role === null ? 401 : 403;
        const slug = String(reply.body?.type ?? "").replace("/problems/", "");
        const refused =
          reply.status === refusedStatus && (slug === "not-signed-in" || slug === "not-permitted");
        if (allowed === refused) wrong.push(`${operation.id}: ${reply.status} ${slug}`);
        if (reply.status >= 500) wrong.push(`${operation.id}: ${reply.status} ${reply.text}`);
      }
      expect(wrong).toEqual([]);
    });
  }
});

describe("every operation", () => {
  it("has an id, a method and a path of its own", () => {
    expect(new Set(operations.map(({ id }) => id)).size).toBe(operations.length);
    expect(new Set(operations.map(({ method, path }) => `${method} ${path}`)).size).toBe(operations.length);
  });

  it("is served", () => {
    for (const { method, path } of operations) {
      expect(shop.app.hasRoute({ method, url: `/api${path}` }), `${method} ${path}`).toBe(true);
    }
  });

  it("stands in the OpenAPI 3.1 document with its summary", async () => {
    const { body } = await shop.stranger().get("/api/docs/json").expect(200);
    expect(body.openapi).toMatch(/^3\.1\./);
    for (const { id, method, path, summary } of operations) {
      const documented = body.paths[`/api${path.replaceAll(/:([a-z]+)/gi, "{$1}")}`]?.[method.toLowerCase()];
      expect(documented?.operationId, id).toBe(id);
      expect(documented?.summary, id).toBe(summary);
    }
  });
});

describe("a problem", () => {
  it("is RFC 9457 problem details with a type that the service explains", async () => {
    const reply = await shop.stranger().get("/api/meters").expect(401);
    expect(reply.headers["content-type"]).toMatch(/^application\/problem\+json/);
    expect(problemSchema.parse(reply.body)).toMatchObject({ type: "/problems/not-signed-in", status: 401 });
    const page = await shop.stranger().get(reply.body.type).expect(200);
    expect(page.text).toContain(problems["not-signed-in"].meaning);
  });

  it("names each field of a malformed request by its JSON pointer", async () => {
    const reply = await agents.get("administrator")?.post("/api/people").send({ id: someId, username: "X" });
    expect(reply?.status).toBe(400);
    const pointers = problemSchema.parse(reply?.body).errors?.map(({ pointer }) => pointer) ?? [];
    expect(pointers).toEqual(expect.arrayContaining(["/username", "/name", "/role", "/password"]));
    expect(reply?.body.errors).toContainEqual({ pointer: "/name", detail: "This is needed." });
    const odd = await agents
      .get("administrator")
      ?.post("/api/people")
      .send({ id: someId, name: 7, pin: "1" });
    expect(odd?.body.errors).toContainEqual({ pointer: "/name", detail: "Must be text." });
    expect(odd?.body.errors).toContainEqual({ pointer: "", detail: "Not known here: pin." });
  });

  it("is said of a text that no row could keep, wherever it stands", async () => {
    const agent = agents.get("administrator");
    const refused = async (request: Promise<{ status: number; body: { errors?: unknown } }> | undefined) => {
      const reply = await request;
      return [reply?.status, reply?.body.errors];
    };
    const detail = expect.stringMatching(/not contain control characters/i);
    for (const path of [
      "/api/meters?q=%00",
      "/api/ledger?q=&subjectId=a%00",
      "/api/meters/find?number=%00",
    ]) {
      expect((await agent?.get(path))?.status, path).toBe(400);
    }
    expect(await refused(agent?.get("/api/meters").query({ q: "a\0" }))).toEqual([
      400,
      [{ pointer: "/q", detail }],
    ]);
    const meter = { utilityNumber: "1", firmware: "\ud800" };
    expect(await refused(agent?.post("/api/meters").send(meter))).toEqual([
      400,
      [{ pointer: "/firmware", detail }],
    ]);
  });

  it("refuses a change that another site's page asks for", async () => {
    const agent = agents.get("administrator");
    for (const header of [{ "sec-fetch-site": "cross-site" }, { origin: "https://elsewhere.example" }]) {
      const reply = await agent?.post("/api/people").set(header).send({});
      expect(reply?.body.type).toBe("/problems/cross-site-request");
    }
  });
});
