import type { DrawUnit } from "@sealbook/contract/follow-up";
import type { LotKind } from "@sealbook/contract/lot-terms";
import { instantAfter, weekday } from "@sealbook/database/demo/days";
import type { DemoMeter } from "@sealbook/database/demo/meters";
import { seededRandom } from "@sealbook/database/demo/random";
import { type DemoProgramme, type DemoShipment, demoSampling } from "@sealbook/database/demo/sampling";
import type { DemoScenario } from "@sealbook/database/demo/scenario";
import { demoTestOn, technicians } from "@sealbook/database/demo/tests";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import { drawProgrammeNow, formProgrammeNow, lotIdsOf } from "./modules/groups/groups.ts";
import { addTestsOnRecord, type TestOnRecord } from "./modules/meter-tests/meter-tests.ts";
import {
  addCorrectiveAction,
  addScheme,
  approve,
  decide,
  draw,
  evaluate,
  getLot,
  listDrawUnits,
  plan,
  publishList,
  recordEvents,
} from "./modules/sampling/sampling.ts";
import {
  addShipmentMeters,
  createShipment,
  releaseShipment,
  returnShipment,
} from "./modules/shipments/shipments.ts";
import { newId, type Tx } from "./platform/transaction.ts";

/** One day's work of one person in the demo shop's past. */
export interface DemoDay {
  at: Date;
  username: string | null;
  work(tx: Tx): Promise<void>;
}

const dice = { source: "typed-dice", announcement: null, notBefore: null } as const;

/**
 * The sampling of the demo shop: three shipments of one contract (sent back, released, being tested), last year's groups
 * decided, and this year's being pulled. Samples are drawn when their day comes, so results are made for whoever is drawn.
 */
export function samplingDays(scenario: DemoScenario, today: string): DemoDay[] {
  const random = seededRandom(20_261_126);
  const { schemes, shipments, programmes } = demoSampling(random, today);
  const days: DemoDay[] = [];
  const onDay = (date: string, minutes: number, username: string, work: (tx: Tx) => Promise<void>) => {
    const at = instantAfter(date, 0, minutes);
    if (at < instantAfter(today, 0)) days.push({ at, username, work });
  };
  onDay(dateAfter(today, -470), 14 * 60, "marguerite", async (tx) => {
    for (const scheme of schemes) {
      await addScheme(tx, { ...scheme, revision: 1, reason: "First edition" });
    }
  });
  const story: Story = { scenario, random, onDay };
  const schemeFor = (purpose: "shipment" | "in-service"): string => {
    const scheme = schemes.find(({ body }) => body.purpose === purpose);
    if (scheme === undefined) throw new RangeError(`the demo has a scheme of purpose ${purpose}`);
    return scheme.id;
  };
  for (const shipment of shipments) tellShipment(story, shipment, schemeFor("shipment"));
  for (const programme of programmes) tellProgramme(story, programme, schemeFor("in-service"));
  return days;
}

interface Story {
  scenario: DemoScenario;
  random: ReturnType<typeof seededRandom>;
  onDay(date: string, minutes: number, username: string, work: (tx: Tx) => Promise<void>): void;
}

function tellShipment(story: Story, shipment: DemoShipment, schemeId: string): void {
  const { scenario, onDay } = story;
  const { id, receivedOn, end } = shipment;
  const meters = new Map(shipment.meters.map((meter) => [meter.utilityNumber, meter]));
  // The shop works on weekdays; each step keeps its distance from the one before.
  const drawnOn = weekday(dateAfter(receivedOn, 1));
  const testedOn = weekday(dateAfter(drawnOn, 2));
  const decidedOn = weekday(dateAfter(testedOn, 5));
  const listId = newId();
  onDay(receivedOn, 18 * 60, "petra", async (tx) => {
    await createShipment(tx, {
      id,
      number: shipment.number,
      schemeId,
      typeId: scenario.types[shipment.typeIndex]?.id ?? "",
      contract: shipment.contract,
      purchaseOrder: shipment.purchaseOrder,
      receivedOn,
      note: "",
    });
    await addShipmentMeters(tx, id, shipment.meters.map(rowOfMakersList));
  });
  onDay(drawnOn, 13 * 60, "marguerite", async (tx) => {
    await plan(tx, id, null, dateAfter(receivedOn, 30));
    await publishList(tx, id, { id: listId, seed: dice, repeats: null });
  });
  onDay(drawnOn, 14 * 60, "marguerite", async (tx) => {
    await draw(tx, listId, { id: newId(), seed: shipment.seed });
  });
  logTests(story, testedOn, "shipment", {
    lotsOf: async () => [id],
    meterOf: (unit) => meters.get(unit.utilityNumber),
    due: ({ position }) => end !== "being-tested" || position % 4 < 2,
  });
  if (end === "being-tested") return;
  decideAndApprove(story, decidedOn, async () => [id]);
  onDay(weekday(dateAfter(decidedOn, 3)), 19 * 60, "marguerite", async (tx) => {
    const { version } = await getLot(tx, id, tx.actor);
    if (end === "released") await releaseShipment(tx, id, version, scenario.places.store.id);
    else await returnShipment(tx, id, version, "Reads more than two percent fast at full load");
  });
}

/** The maker's list carries its own results, which are far better than what the shop finds. */
function rowOfMakersList({ serial, utilityNumber, firmware, program, purchasedOn, truth }: DemoMeter) {
  return {
    serial,
    utilityNumber,
    firmware,
    program,
    purchasedOn,
    results: [
      { label: "Full load", registrationPercent: (100 + truth.fullLoad * 0.2).toFixed(2) },
      { label: "Light load", registrationPercent: (100 + truth.lightLoadOffset).toFixed(2) },
    ],
  };
}

function tellProgramme(story: Story, programme: DemoProgramme, schemeId: string): void {
  const { scenario, onDay } = story;
  const { id, formedOn, testedOn } = programme;
  const meters = new Map(scenario.meters.map((meter) => [meter.id, meter]));
  const lotsOf = (tx: Tx) => lotIdsOf(tx, id);
  onDay(formedOn, 14 * 60, "marguerite", async (tx) => {
    await formProgrammeNow(tx, {
      id,
      year: Number(formedOn.slice(0, 4)),
      name: programme.name,
      schemeId,
      seed: dice,
      dueOn: programme.dueOn,
    });
  });
  onDay(formedOn, 15 * 60, "marguerite", async (tx) => {
    await drawProgrammeNow(tx, id, programme.seed);
  });
  onDay(weekday(dateAfter(formedOn, 5)), 19 * 60, "tobias", async (tx) => {
    for (const lotId of await lotsOf(tx)) {
      const { rows } = await listDrawUnits(tx, lotId);
      const waiting = rows.filter(({ state }) => state === "waiting");
      if (waiting.length > 0) await recordEvents(tx, lotId, waiting.map(followUp));
    }
  });
  for (const [index, date] of testedOn.entries()) {
    logTests(story, date, "in-service", {
      lotsOf,
      meterOf: (unit) => meters.get(unit.meterId),
      due: ({ place }) => place !== null && place % 3 <= index,
    });
  }
  if (programme.decidedOn !== null) decideAndApprove(story, programme.decidedOn, lotsOf);
}

/** What the technician heard of a sampled meter: most are asked for, some have moved, one gate was locked. */
function followUp({ position, servicePoint }: DrawUnit) {
  const event = { id: newId(), position, reason: null, note: "" };
  if (servicePoint === null) return { ...event, kind: "moved" as const, note: "Exchanged before the pull" };
  return position === 4
    ? { ...event, kind: "not-reached" as const, reason: "no-access" as const, note: "Gate locked, no answer" }
    : { ...event, kind: "asked" as const };
}

/** Both technicians test what is due of some lots on a day, every other meter each. */
function logTests(
  { scenario, random, onDay }: Story,
  date: string,
  kind: LotKind,
  sample: {
    lotsOf(tx: Tx): Promise<string[]>;
    meterOf(unit: DrawUnit): DemoMeter | undefined;
    due(unit: DrawUnit): boolean;
  },
): void {
  const plans = new Map(scenario.plans.map(({ code, id }) => [code, id]));
  for (const [turn, tester] of technicians.entries()) {
    onDay(date, 21 * 60 + turn, tester, async (tx) => {
      const tests: TestOnRecord[] = [];
      for (const lotId of await sample.lotsOf(tx)) {
        const { rows } = await listDrawUnits(tx, lotId);
        for (const unit of rows) {
          const meter = sample.meterOf(unit);
          const mine = unit.position % technicians.length === turn;
          const open = ["waiting", "asked", "pulled", "received"].includes(unit.state);
          if (meter === undefined || !mine || !open || !sample.due(unit)) continue;
          const test = demoTestOn(
            random,
            meter,
            scenario.types,
            scenario.standards,
            date,
            kind === "shipment" ? "new-shipment" : "in-service-sample",
            tester,
          );
          if (test === null) continue;
          const { planCode, ...entry } = test.body;
          tests.push({
            signed: true,
            body: {
              ...entry,
              meterId: unit.meterId,
              workItemIds: unit.workItemId === null ? [] : [unit.workItemId],
              planId: plans.get(planCode) ?? "",
              signature: null,
            },
          });
        }
      }
      await addTestsOnRecord(tx, tests);
    });
  }
}

/** The quality engineer decides what can be decided; the supervisor approves it the day after and sees to what follows. */
function decideAndApprove(
  { scenario, onDay }: Story,
  date: string,
  lotsOf: (tx: Tx) => Promise<string[]>,
): void {
  onDay(date, 15 * 60, "marguerite", async (tx) => {
    for (const lotId of await lotsOf(tx)) {
      const { outcome, characteristics } = await evaluate(tx, lotId);
      if (outcome === "open") continue;
      const byPerson = outcome === "person-decides";
      const holds = characteristics.every(({ criteria }) => criteria.every((one) => one.holds));
      await decide(tx, lotId, {
        id: newId(),
        outcome: byPerson ? (holds ? "accepted" : "not-accepted") : null,
        reason: !byPerson
          ? ""
          : holds
            ? "The meters without a reading do not change the picture: the estimates stand far within M"
            : "The estimates stand above M even without the meters that gave no reading",
        steady: true,
        reducedApproved: false,
      });
    }
  });
  const dorian = scenario.people.find(({ username }) => username === "dorian");
  if (dorian === undefined) throw new RangeError("the demo shop has its supervisor");
  onDay(weekday(dateAfter(date, 1)), 16 * 60, dorian.username, async (tx) => {
    for (const lotId of await lotsOf(tx)) {
      const lot = await getLot(tx, lotId, tx.actor);
      if (lot.state !== "decided") continue;
      await approve(tx, lotId, { id: newId(), password: dorian.password, note: "" });
      if (lot.kind === "shipment" || lot.outcome !== "not-accepted") continue;
      await addCorrectiveAction(tx, lotId, {
        id: newId(),
        kind: "retire-by",
        detail: "Light load has drifted slow with age: retire the group, oldest purchases first",
        ownerId: dorian.id,
        dueOn: dateAfter(date, 730),
      });
    }
  });
}
