import { randomInt } from "node:crypto";
import { groupTasks } from "@sealbook/api/modules/groups/jobs";
import { addMeters, moveMeters } from "@sealbook/api/modules/meters/meters";
import { addServicePoints } from "@sealbook/api/modules/service-points/service-points";
import { type Jobs, startJobs } from "@sealbook/api/platform/jobs";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { DrawUnit } from "@sealbook/contract/follow-up";
import type { Programme } from "@sealbook/contract/groups";
import type { Lot } from "@sealbook/contract/sampling";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { pino } from "pino";
import { vi } from "vitest";
import type { SignedIn, TestApp } from "./app.ts";
import { testPassword } from "./app.ts";
import { type MeterBench, meterBench, pass, registration } from "./meter-bench.ts";

/** A house scheme for groups in service; a test changes what it is about. Limits and AQL are invented. */
export const inServiceScheme: SamplingScheme = {
  format: 1,
  purpose: "in-service",
  jurisdiction: null,
  source: "Invented for a test",
  plan: { kind: "variables", edition: "ANSI/ASQ Z1.9", form: 2, level: "II", aqlPercent: "2.5" },
  characteristics: [
    {
      characteristic: "full-load",
      limits: { minPercent: "98", maxPercent: "102", source: "Invented for a test" },
      aqlPercent: null,
    },
  ],
  average: null,
  untestable: { counts: "nonconforming", reason: "Invented for a test" },
  replacement: { allowed: true, sparesPercent: 20, reasons: ["no-access", "moved", "retired"] },
  lotSize: { min: 1, max: null, standAloneFrom: null },
  grouping: { years: null, firmware: false, area: false, merge: "never" },
  everyMonths: 12,
  switching: false,
  limitNumbersDropped: false,
  notes: [],
};

/** A house scheme for shipments by attributes, level II, AQL 1. */
export const shipmentScheme: SamplingScheme = {
  ...inServiceScheme,
  purpose: "shipment",
  plan: { kind: "attributes", edition: "ANSI/ASQ Z1.4-2003", level: "II", aqlPercent: "1" },
  replacement: { allowed: false, sparesPercent: 0, reasons: [] },
  grouping: null,
  everyMonths: null,
  switching: true,
};

export interface SamplingBench {
  readonly meters: MeterBench;
  readonly shop: TestApp;
  readonly engineer: SignedIn;
  /** A supervisor who has tested nothing. */
  readonly approver: SignedIn;
  readonly technician: SignedIn;
  readonly planId: string;
  aScheme(body: SamplingScheme): Promise<Scheme>;
  aType(over?: Record<string, unknown>): Promise<string>;
  /** Meters in service at a service point of their own area; their ids by utility number. */
  inService(
    typeId: string,
    numbers: readonly string[],
    over?: {
      area?: string;
      jurisdiction?: string;
      purchasedOn?: string | null;
      owner?: "utility" | "customer";
    },
  ): Promise<Map<string, string>>;
  /** Takes meters in service out of the inventory. */
  retire(meterIds: readonly string[]): Promise<void>;
  /** Meters received and in no lot; their utility numbers. */
  received(typeId: string, count: number): Promise<string[]>;
  /** A shipment of meters received just now, planned unless said otherwise; its lot and their utility numbers. */
  aShipment(
    scheme: Scheme,
    count: number,
    over?: { typeId?: string; contract?: string; planned?: boolean },
  ): Promise<{ lot: Lot; numbers: string[]; typeId: string }>;
  plan(lotId: string): Promise<Lot>;
  /** A programme of a year, formed by its job. */
  aProgramme(scheme: Scheme, over?: Record<string, unknown>): Promise<Programme>;
  lotsOf(programmeId: string): Promise<Lot[]>;
  lot(id: string): Promise<Lot>;
  unitsOf(lotId: string): Promise<DrawUnit[]>;
  /** Logs a test of a sampled meter at one full load, all else at 100 %; its id. */
  test(
    unit: Pick<DrawUnit, "meterId" | "workItemId">,
    fullLoad: string,
    reason?: "in-service-sample" | "new-shipment",
    by?: SignedIn,
  ): Promise<string>;
  /** Logs that no test was possible. */
  deadMeter(unit: Pick<DrawUnit, "meterId" | "workItemId">, reason?: string): Promise<void>;
  /** Publishes the list of a lot and draws from it with dice. */
  drawn(lotId: string, seed?: string): Promise<DrawUnit[]>;
  close(): Promise<void>;
}

const log = pino({ level: "silent" });

export async function samplingBench(shop: TestApp): Promise<SamplingBench> {
  const meters = await meterBench(shop);
  const { engineer, technician } = meters;
  const approver = await shop.signIn("supervisor");
  const { id: planId, code } = await meters.aPlan();
  const jobs: Jobs = await startJobs({
    database: shop.app.database,
    tasks: groupTasks(shop.app.database, log),
    log,
  });
  let numbers = randomInt(1_000_000, 2_000_000);
  const lot = async (id: string): Promise<Lot> =>
    (await engineer.agent.get(`/api/lots/${id}`).expect(200)).body;
  const unitsOf = async (lotId: string): Promise<DrawUnit[]> =>
    (await engineer.agent.get(`/api/lots/${lotId}/units`).expect(200)).body.rows;

  const plan = async (lotId: string): Promise<Lot> => {
    const { version } = await lot(lotId);
    const reply = await engineer.agent
      .post(`/api/lots/${lotId}/plan`)
      .set("if-match", `"${version}"`)
      .send({ dueOn: "2027-01-31" });
    if (reply.status !== 200) throw new Error(JSON.stringify(reply.body));
    return reply.body;
  };

  const bench: SamplingBench = {
    meters,
    shop,
    engineer,
    approver,
    technician,
    planId,
    async aScheme(body) {
      const id = newId();
      const reply = await engineer.agent.post("/api/sampling-schemes").send({
        id,
        code: `S-${id.slice(-8).toUpperCase()}`,
        revision: 1,
        name: "A scheme of a test",
        body,
        reason: "For a test",
      });
      if (reply.status !== 201) throw new Error(JSON.stringify(reply.body));
      return reply.body;
    },
    aType: (over = {}) => meters.aType({ code }, over),
    async inService(typeId, utilityNumbers, over = {}) {
      const { area = "North", jurisdiction = "us-in", purchasedOn = "2016-05-03", owner = "utility" } = over;
      const ids = new Map(utilityNumbers.map((number) => [number, newId()]));
      const point = newId();
      await inTransaction(shop.admin, null, async (tx) => {
        await addServicePoints(tx, [
          { id: point, number: `SP${point.slice(-8)}`, address: "14 Invented Lane", area, jurisdiction },
        ]);
        await addMeters(
          tx,
          utilityNumbers.map((utilityNumber) => {
            const id = ids.get(utilityNumber) ?? "";
            return {
              id,
              utilityNumber,
              serial: `S${utilityNumber}`,
              owner,
              typeId,
              maker: "Alderwick Instruments",
              firmware: "",
              program: "",
              purchasedOn,
              events: [
                {
                  id: newId(),
                  meterId: id,
                  kind: "set",
                  performedAt: new Date("2016-06-01T12:00:00Z"),
                  placeId: point,
                  registerReading: "0",
                  reason: "",
                },
              ],
            };
          }),
        );
      });
      return ids;
    },
    async retire(meterIds) {
      await inTransaction(shop.admin, null, (tx) =>
        moveMeters(
          tx,
          meterIds.flatMap((meterId) =>
            (["remove", "retire"] as const).map((kind) => ({
              id: newId(),
              meterId,
              kind,
              // The one comes before the other.
              performedAt: new Date(Date.now() - (kind === "remove" ? 1000 : 0)),
              placeId: meters.placeId,
              registerReading: null,
              reason: "For a test",
            })),
          ),
        ),
      );
    },
    async received(typeId, count) {
      const list = Array.from({ length: count }, () => {
        numbers += 1;
        return `N${numbers}`;
      });
      await inTransaction(shop.admin, null, (tx) =>
        addMeters(
          tx,
          list.map((utilityNumber) => {
            const id = newId();
            return {
              id,
              utilityNumber,
              serial: `S${utilityNumber}`,
              owner: "utility",
              typeId,
              maker: "Alderwick Instruments",
              firmware: "",
              program: "",
              purchasedOn: null,
              events: [
                {
                  id: newId(),
                  meterId: id,
                  kind: "receive",
                  performedAt: new Date("2026-01-05T12:00:00Z"),
                  placeId: meters.placeId,
                  registerReading: null,
                  reason: "",
                },
              ],
            };
          }),
        ),
      );
      return list;
    },
    async aProgramme(scheme, over = {}) {
      const id = newId();
      const reply = await engineer.agent.post("/api/programmes").send({
        id,
        year: 2026,
        name: "The year's groups",
        schemeId: scheme.id,
        seed: { source: "typed-dice", announcement: null, notBefore: null },
        dueOn: "2026-12-31",
        ...over,
      });
      if (reply.status !== 202) throw new Error(JSON.stringify(reply.body));
      let programme: Programme = reply.body;
      await vi.waitFor(
        async () => {
          programme = (await engineer.agent.get(`/api/programmes/${id}`).expect(200)).body;
          if (programme.state === "forming") throw new Error("the job is still under way");
        },
        { timeout: 60_000, interval: 100 },
      );
      return programme;
    },
    async lotsOf(programmeId) {
      const { body } = await engineer.agent.get(`/api/lots?programmeId=${programmeId}&limit=200`).expect(200);
      return await Promise.all((body.rows as { id: string }[]).map(({ id }) => lot(id)));
    },
    lot,
    unitsOf,
    async test({ meterId, workItemId }, fullLoad, reason = "in-service-sample", by = technician) {
      const hundred = registration("100");
      const body = meters.aTest(meterId, planId, {
        reasons: [reason],
        workItemIds: workItemId === null ? [] : [workItemId],
        outcome: {
          kind: "tested",
          asFound: pass({ FL: registration(fullLoad), LL: hundred, PF: hundred }),
          asLeft: { kind: "same" },
        },
      });
      const reply = await by.agent.post("/api/meter-tests").send(body);
      if (reply.status !== 201) throw new Error(JSON.stringify(reply.body));
      return body.id;
    },
    async deadMeter({ meterId, workItemId }, reason = "in-service-sample") {
      const body = meters.aTest(meterId, planId, {
        reasons: [reason as "in-service-sample"],
        workItemIds: workItemId === null ? [] : [workItemId],
        standardId: null,
        errorAppliedByBench: null,
        outcome: { kind: "no-test-possible", reason: "not-registering", note: "Load on, register still" },
      });
      const reply = await technician.agent.post("/api/meter-tests").send(body);
      if (reply.status !== 201) throw new Error(JSON.stringify(reply.body));
    },
    async drawn(lotId, seed = "4 1 6 2 5 5") {
      const listId = newId();
      await engineer.agent
        .post(`/api/lots/${lotId}/lists`)
        .send({
          id: listId,
          seed: { source: "typed-dice", announcement: null, notBefore: null },
          repeats: null,
        })
        .expect(201);
      const reply = await engineer.agent.post(`/api/draw-lists/${listId}/draw`).send({ id: newId(), seed });
      if (reply.status !== 201) throw new Error(JSON.stringify(reply.body));
      return await unitsOf(lotId);
    },
    plan,
    async aShipment(scheme, count, over = {}) {
      const typeId = over.typeId ?? (await bench.aType());
      const id = newId();
      const opened = await engineer.agent.post("/api/shipments").send({
        id,
        number: `SH-${id.slice(-8)}`,
        schemeId: scheme.id,
        typeId,
        contract: over.contract ?? "C-1",
        purchaseOrder: "PO-77",
        receivedOn: "2026-11-20",
        note: "",
      });
      if (opened.status !== 201) throw new Error(JSON.stringify(opened.body));
      const list = count === 0 ? [] : await bench.received(typeId, count);
      if (count > 0) {
        await engineer.agent
          .post(`/api/shipments/${id}/meters`)
          .set("idempotency-key", newId())
          .send({ numbers: list })
          .expect(200);
      }
      return {
        lot: over.planned === false ? await lot(id) : await plan(id),
        numbers: list,
        typeId,
      };
    },
    close: () => jobs.stop(),
  };
  return bench;
}

/** Asks for an approval as somebody. */
export function approval(by: SignedIn, lotId: string) {
  return by.agent
    .post(`/api/lots/${lotId}/approval`)
    .send({ id: newId(), password: testPassword, note: "Looked at the normal plot" });
}

/** Asks for a decision as somebody. */
export function decision(by: SignedIn, lotId: string, over: Record<string, unknown> = {}) {
  return by.agent.post(`/api/lots/${lotId}/decision`).send({
    id: newId(),
    outcome: null,
    reason: "",
    steady: true,
    reducedApproved: false,
    ...over,
  });
}
