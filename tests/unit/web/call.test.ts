import { createServer, type IncomingMessage, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { idSchema } from "@sealbook/contract/common";
import { addFile } from "@sealbook/contract/files";
import { getTestCertificate } from "@sealbook/contract/meter-tests";
import { changeMeterType, listMeterTypes } from "@sealbook/contract/meter-types";
import { closeSession, openSession } from "@sealbook/contract/people";
import { openWorkItem } from "@sealbook/contract/work-items";
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from "vitest";
import { call } from "../../../apps/web/src/api/call.ts";
import { ProblemError } from "../../../apps/web/src/api/problem-error.ts";

// A server of our own that writes down what it is asked and answers as told, so that what is checked is what travels.

interface Seen {
  method: string;
  url: string;
  headers: IncomingMessage["headers"];
  body: string;
}

let server: Server;
let seen: Seen[] = [];
let answer: { status: number; type: string; body: string };

beforeAll(async () => {
  server = createServer((request, response) => {
    let body = "";
    request.setEncoding("utf8");
    request.on("data", (part: string) => {
      body += part;
    });
    request.on("end", () => {
      seen.push({ method: request.method ?? "", url: request.url ?? "", headers: request.headers, body });
      response.writeHead(answer.status, { "content-type": answer.type }).end(answer.body);
    });
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  const { port } = server.address() as AddressInfo;
  const asked = globalThis.fetch;
  // A browser resolves "/api" against the page; here the page is the server above.
  vi.stubGlobal("fetch", (path: string, init: RequestInit) => asked(`http://127.0.0.1:${port}${path}`, init));
});
afterAll(() => {
  vi.unstubAllGlobals();
  server.close();
});
beforeEach(() => {
  seen = [];
  answer = { status: 200, type: "application/json", body: "{}" };
});

function answerWith(problem: object, status: number): void {
  answer = { status, type: "application/problem+json", body: JSON.stringify(problem) };
}

/** The problem that a call ends in. */
async function problemOf(calling: Promise<unknown>): Promise<ProblemError> {
  const error: unknown = await calling.then(
    () => new Error("the call was expected to fail"),
    (reason: unknown) => reason,
  );
  if (!(error instanceof ProblemError)) throw error;
  return error;
}

const id = "0193a8f0-5c00-7000-8000-000000000001";
const meterId = "0193a8f0-5c00-7000-8000-000000000002";
const workItem = { id, meterId, reason: "periodic", dueOn: null, note: "" } as const;

describe("a call of an operation", () => {
  it("reads without any mark of a write, leaving out filters that say nothing", async () => {
    answer.body = JSON.stringify({ rows: [], next: null });
    expect(await call(listMeterTypes, { query: { limit: 20 } })).toEqual({ rows: [], next: null });
    const [request] = seen;
    expect(request).toMatchObject({ method: "GET", url: "/api/meter-types?limit=20", body: "" });
    expect(request?.headers["x-requested-with"]).toBeUndefined();
    expect(request?.headers["idempotency-key"]).toBeUndefined();
  });

  it("sends the record's own id as its key, so that a retry is known as one", async () => {
    await call(openWorkItem, { body: workItem });
    await call(openWorkItem, { body: workItem });
    expect(seen.map(({ headers }) => headers["idempotency-key"])).toEqual([id, id]);
    expect(seen[0]?.headers["x-requested-with"]).toBe("sealbook");
    expect(JSON.parse(seen[0]?.body ?? "")).toEqual(workItem);
  });

  it("takes a key that it is given, and makes a UUID of version 7 for a body without an id", async () => {
    await call(openWorkItem, { body: workItem, key: meterId });
    await call({ ...openSession, idempotent: true }, { body: { username: "ines", password: "a password" } });
    expect(seen[0]?.headers["idempotency-key"]).toBe(meterId);
    expect(idSchema.safeParse(seen[1]?.headers["idempotency-key"]).success).toBe(true);
  });

  it("says which version an edit was based on, and refuses to send one that does not know", async () => {
    const edit = { params: { id }, body: {} as never };
    await call(changeMeterType, { ...edit, version: 7 });
    expect(seen[0]).toMatchObject({ method: "PUT", url: `/api/meter-types/${id}` });
    expect(seen[0]?.headers["if-match"]).toBe('"7"');
    await expect(call(changeMeterType, edit)).rejects.toThrow(RangeError);
    expect(seen).toHaveLength(1);
  });

  it("sends a file as multipart with the one part that the service expects", async () => {
    await call(addFile, { query: { id }, file: new File(["seal"], "seal.txt", { type: "text/plain" }) });
    expect(seen[0]?.url).toBe(`/api/files?id=${id}`);
    expect(seen[0]?.headers["content-type"]).toMatch(/^multipart\/form-data; boundary=/);
    expect(seen[0]?.body).toMatch(/name="file"; filename="seal\.txt"/);
    await expect(call(addFile, { query: { id } })).rejects.toThrow(RangeError);
  });

  it("gives a document as it came, and nothing for an empty success", async () => {
    answer = { status: 200, type: "application/pdf", body: "%PDF-1.7" };
    expect(await (await call(getTestCertificate, { params: { id } })).text()).toBe("%PDF-1.7");
    answer = { status: 204, type: "text/plain", body: "" };
    expect(await call(closeSession, {})).toBeUndefined();
  });
});

describe("a call that fails", () => {
  it("carries the service's refusal with its places, its rule and the newer version", async () => {
    const places = [{ pointer: "/kh", detail: "Kh must agree with the form.", rule: "plate check" }];
    answerWith(
      {
        type: "/problems/stale",
        title: "Changed since you opened it",
        status: 412,
        detail: "Someone saved a newer version.",
        errors: places,
        current: { version: 8 },
        requestId: "req-1",
      },
      412,
    );
    const problem = await problemOf(call(changeMeterType, { params: { id }, body: {} as never, version: 7 }));
    expect(problem).toMatchObject({
      slug: "stale",
      status: 412,
      message: "Someone saved a newer version.",
      errors: places,
      current: { version: 8 },
      requestId: "req-1",
    });
  });

  it("takes a problem that it does not know for a fault, and keeps its sentence", async () => {
    answerWith(
      { type: "/problems/from-tomorrow", title: "New", status: 409, detail: "Do this instead." },
      409,
    );
    expect(await problemOf(call(listMeterTypes, {}))).toMatchObject({
      slug: "internal-error",
      message: "Do this instead.",
    });
  });

  it("tells a proxy's page for what it is: the service cannot be reached now", async () => {
    answer = { status: 502, type: "text/html", body: "<h1>Bad gateway</h1>" };
    expect(await problemOf(call(listMeterTypes, {}))).toMatchObject({ slug: "unavailable", errors: [] });
    answer = { status: 500, type: "application/json", body: '{"oops":true}' };
    expect(await problemOf(call(listMeterTypes, {}))).toMatchObject({ slug: "internal-error", status: 500 });
  });

  it("says that a lost connection keeps what was typed", async () => {
    const port = (server.address() as AddressInfo).port;
    vi.stubGlobal("fetch", () => Promise.reject(new TypeError(`connect ECONNREFUSED 127.0.0.1:${port}`)));
    const problem = await problemOf(call(openWorkItem, { body: workItem }));
    expect(problem.slug).toBe("unavailable");
    expect(problem.message).toMatch(/What you typed is still here/);
  });
});
