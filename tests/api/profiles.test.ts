import { adoptProfile, proposeShipped } from "@sealbook/api/modules/profiles/profiles";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { RuleProfileRow, RuleProfileView } from "@sealbook/contract/profiles";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";

let shop: TestApp;
let author: SignedIn;
let other: SignedIn;

beforeAll(async () => {
  shop = await testApp();
  author = await shop.signIn("quality-engineer");
  other = await shop.signIn("supervisor");
});
afterAll(() => shop.close());

const proposal = (over: object, reason = "The text was read again") => ({
  id: newId(),
  document: JSON.stringify({ ...northCarolina, ...over }),
  reason,
});

const propose = async (over: object) => {
  const body = proposal(over);
  await author.agent.post("/api/profiles").send(body).expect(201);
  return body.id;
};

const decide = (by: SignedIn, id: string, body: object) =>
  by.agent
    .post(`/api/profiles/${id}/decision`)
    .set("idempotency-key", newId())
    .send({ outcome: "approved", effectiveFrom: null, reason: "Read against the text", ...body });

const standings = async (key: string) => {
  const { body } = await other.agent.get(`/api/profiles?key=${key}`).expect(200);
  return (body.rows as RuleProfileRow[]).map(({ version, standing }) => [version, standing]);
};

describe("a version of a rule profile", () => {
  it("that came with the service is in force from the first start", async () => {
    expect(await standings("us-nc")).toEqual([[northCarolina.version, "in-force"]]);
  });

  it("is proposed by one person and approved by another, for a date", async () => {
    const key = "zz-two-people";
    await inTransaction(shop.admin, null, (tx) => adoptProfile(tx, { ...northCarolina, key, version: "1" }));
    const id = await propose({ key, version: "2" });
    expect(await standings(key)).toEqual([
      ["2", "proposed"],
      ["1", "in-force"],
    ]);
    const refused = await decide(author, id, {}).expect(403);
    expect(refused.body).toMatchObject({ type: "/problems/not-permitted" });
    const { body } = await decide(other, id, { effectiveFrom: "2199-01-01" }).expect(201);
    expect((body as RuleProfileView).decision).toMatchObject({
      outcome: "approved",
      effectiveFrom: "2199-01-01",
      decidedBy: { id: other.id },
    });
    expect(await standings(key)).toEqual([
      ["2", "waiting"],
      ["1", "in-force"],
    ]);
    await decide(other, id, {}).expect(409);
    const third = await propose({ key, version: "3" });
    await decide(other, third, { effectiveFrom: "2020-01-01" }).expect(201);
    expect(await standings(key)).toEqual([
      ["3", "in-force"],
      ["2", "waiting"],
      ["1", "superseded"],
    ]);
  });

  it("is refused to its author by the database as well", async () => {
    const id = await propose({ key: "zz-own", version: "1" });
    const forged = inTransaction(
      shop.admin,
      { id: author.id, role: "quality-engineer", username: author.username },
      async (tx) => {
        const [entry] = await tx.query<{ id: string }>(
          `INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
           VALUES ($1, 'profile.decide', 'profile', $2, '{}') RETURNING id`,
          [newId(), id],
        );
        await tx.query(
          "INSERT INTO rule_profile_decision (profile_id, outcome, reason, entry_id) VALUES ($1, 'approved', 'mine', $2)",
          [id, entry?.id],
        );
      },
    );
    await expect(forged).rejects.toThrow("the author of a rule profile does not decide on it");
  });

  it("that is declined judges nothing, and the next takes the next number", async () => {
    const id = await propose({ key: "zz-declined", version: "1" });
    await decide(other, id, { outcome: "declined", effectiveFrom: "2026-01-01" }).expect(422);
    await decide(other, id, { outcome: "declined", effectiveFrom: null }).expect(201);
    expect(await standings("zz-declined")).toEqual([["1", "declined"]]);
    const again = await author.agent
      .post("/api/profiles")
      .send(proposal({ key: "zz-declined", version: "1" }))
      .expect(422);
    expect(again.body.errors).toEqual([
      { pointer: "/document/version", detail: "The next version of zz-declined is 2." },
    ]);
  });

  it("names every field that cannot be used", async () => {
    const { body } = await author.agent
      .post("/api/profiles")
      .send(proposal({ version: "two", rounding: "", limits: [{ of: "average" }], surplus: 1 }))
      .expect(422);
    const pointers = (body.errors as { pointer: string }[]).map(({ pointer }) => pointer);
    expect(pointers).toEqual(
      expect.arrayContaining([
        "/document/version",
        "/document/rounding",
        "/document/limits/0/occasions",
        "/document/limits/0/limits",
        "/document",
      ]),
    );
    const broken = await author.agent
      .post("/api/profiles")
      .send({ id: newId(), document: '{"format": 1,', reason: "Cut off on the way" })
      .expect(422);
    expect(broken.body.errors[0].detail).toMatch(/^This is not JSON: /);
  });

  it("stays with a technician who may only read", async () => {
    const technician = await shop.signIn("technician");
    await technician.agent
      .post("/api/profiles")
      .send(proposal({ version: "2" }))
      .expect(403);
  });
});

describe("a service that brings newer rules", () => {
  it("proposes a version that is the next of its place, and leaves the decision to people", async () => {
    const key = "zz-shipped";
    const first = { ...northCarolina, key, version: "1" };
    await inTransaction(shop.admin, null, (tx) => adoptProfile(tx, first));
    const offer = (documents: RuleProfile[]) =>
      inTransaction(shop.admin, null, (tx) => proposeShipped(tx, documents));
    expect(await offer([first])).toEqual([]);
    const second = { ...first, version: "2" };
    expect(await offer([second])).toEqual([second]);
    expect(await offer([second])).toEqual([]);
    expect(await offer([{ ...first, version: "4" }])).toEqual([]);
    expect(await standings(key)).toEqual([
      ["2", "proposed"],
      ["1", "in-force"],
    ]);
    const { body } = await other.agent.get(`/api/profiles?key=${key}`).expect(200);
    await decide(other, body.rows[0].id, {}).expect(201);
    expect(await standings(key)).toEqual([
      ["2", "in-force"],
      ["1", "superseded"],
    ]);
  });
});
