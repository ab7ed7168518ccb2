import type { DemoEvent, DemoMeter } from "@sealbook/database/demo/meters";
import { type DemoScenario, demoScenario } from "@sealbook/database/demo/scenario";
import { daysUntilRecorded } from "@sealbook/database/demo/standards";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import type pg from "pg";
import { reportDays } from "./demo-reports.ts";
import { type DemoDay, samplingDays } from "./demo-sampling.ts";
import { lookAgainAtMeters } from "./modules/inventory-flags/inventory-flags.ts";
import { addTestsOnRecord, type TestOnRecord } from "./modules/meter-tests/meter-tests.ts";
import { createMeterType } from "./modules/meter-types/meter-types.ts";
import { addMeters, moveMeters, placeMeterHold } from "./modules/meters/meters.ts";
import { startShop } from "./modules/people/first-shop.ts";
import { createPerson, setPin } from "./modules/people/people.ts";
import { createPlace } from "./modules/places/places.ts";
import { addServicePoints } from "./modules/service-points/service-points.ts";
import { createStandard, recordCalibration, signCalibration } from "./modules/standards/standards.ts";
import { addTestPlan } from "./modules/test-plans/test-plans.ts";
import { openWorkItem } from "./modules/work-items/work-items.ts";
import { localDate } from "./platform/local-date.ts";
import type { LogSigner } from "./platform/log/log-signer.ts";
import { type Actor, inTransaction, newId, type Tx } from "./platform/transaction.ts";

/**
 * Loads the demo shop through the same use cases that serve people, as the role that owns the tables and with the
 * database's clock set to the day each thing happened, so that the ledger reads as if the shop had been at work.
 *
 * @param signerOf takes up the key that signs the log's heads, as documents print them; null leaves them without one
 */
export async function loadDemo(
  pool: pg.Pool,
  today = localDate(new Date(), "America/New_York"),
  signerOf: ((tx: Tx) => Promise<LogSigner>) | null = null,
): Promise<void> {
  const scenario = demoScenario(today);
  const people = new Map(
    scenario.people.map((person): [string, Actor] => [
      person.username,
      { id: person.id, role: person.role, username: person.username },
    ]),
  );
  const onDay = async (at: Date, username: string | null, work: (tx: Tx) => Promise<void>): Promise<void> => {
    const actor = username === null ? null : (people.get(username) ?? null);
    await inTransaction(pool, actor, async (tx) => {
      await tx.query("SELECT set_config('sealbook.demo_clock', $1, true)", [at.toISOString()]);
      await work(tx);
    });
  };

  await onDay(scenario.opened, null, (tx) => openTheBook(tx, scenario));
  let signer: LogSigner | null = null;
  if (signerOf !== null) {
    await onDay(scenario.opened, null, async (tx) => {
      signer = await signerOf(tx);
    });
  }
  for (const person of scenario.people) {
    await onDay(scenario.opened, person.username, (tx) =>
      setPin(tx, { password: person.password, pin: person.pin }),
    );
  }
  for (const day of daysOf(pool, scenario, today, signer)) {
    const worker = day.username;
    await onDay(day.at, worker, (tx) => day.work(tx));
  }
  const yesterday = new Date(`${dateAfter(today, -1)}T21:45:00Z`);
  await onDay(yesterday, "marguerite", (tx) => holdOneMeter(tx, scenario, yesterday));
  await onDay(yesterday, null, (tx) =>
    lookAgainAtMeters(
      tx,
      scenario.meters.map(({ id }) => id),
    ),
  );
}

/** One meter waits in the shop for a referee, and may not be touched. */
async function holdOneMeter(tx: Tx, scenario: DemoScenario, by: Date): Promise<void> {
  const meter = scenario.meters.find(
    ({ state, events }) => state === "in-shop" && (events.at(-1)?.performedAt ?? by) < by,
  );
  if (meter === undefined) return;
  const reason = "Referee test of complaint 26-0117: wait for the regulator's witness";
  await placeMeterHold(tx, meter.id, { id: newId(), reason });
}

async function openTheBook(tx: Tx, scenario: DemoScenario): Promise<void> {
  await startShop(tx, { ...scenario.shop, demo: true });
  for (const person of scenario.people) {
    const { pin: _, ...account } = person;
    await createPerson(tx, account);
  }
  const { shop, room, store, cage, vans, servicePoints } = scenario.places;
  for (const place of [shop, room, store, cage, ...vans]) await createPlace(tx, place);
  await addServicePoints(tx, servicePoints);
  for (const plan of scenario.plans) {
    await addTestPlan(tx, { ...plan, revision: 1, reason: "First edition" });
  }
  for (const { id, type } of scenario.types) await createMeterType(tx, { id, ...type });
  for (const { calibrations: _, ...standard } of scenario.standards) await createStandard(tx, standard);
  const early = scenario.meters.filter((meter) => firstAt(meter) < scenario.opened);
  await addMeters(
    tx,
    early.map((meter) => {
      const past = meter.events.filter(({ performedAt }) => performedAt < scenario.opened);
      return meterOnRecord(scenario, meter, past);
    }),
  );
}

/** What was recorded after the book was opened, in order of time. */
function daysOf(pool: pg.Pool, scenario: DemoScenario, today: string, signer: LogSigner | null): DemoDay[] {
  const days: DemoDay[] = [...samplingDays(scenario, today), ...reportDays(pool, scenario, today, signer)];
  const marguerite = scenario.people.find(({ username }) => username === "marguerite");
  if (marguerite === undefined) throw new RangeError("the demo shop has its quality engineer");
  for (const standard of scenario.standards) {
    for (const calibration of standard.calibrations) {
      const at = new Date(
        Math.max(
          Date.parse(calibration.calibratedOn) + daysUntilRecorded * 86_400_000,
          scenario.opened.getTime() + 60_000,
        ),
      );
      days.push({
        at,
        username: "marguerite",
        async work(tx) {
          await recordCalibration(tx, standard.id, calibration);
          await signCalibration(tx, standard.id, calibration.id, marguerite.password);
        },
      });
    }
  }
  days.push(...meterDays(scenario), ...testDays(scenario));
  for (const { openedAt, openedBy, ...item } of scenario.work) {
    days.push({
      at: openedAt,
      username: openedBy,
      async work(tx) {
        await openWorkItem(tx, item);
      },
    });
  }
  return days.sort((a, b) => a.at.getTime() - b.at.getTime());
}

/** The storekeeper records each day's meters and moves at the end of that day. */
function meterDays(scenario: DemoScenario): DemoDay[] {
  const newcomers = new Map<string, DemoMeter[]>();
  const moves = new Map<string, { meter: DemoMeter; event: DemoEvent; index: number }[]>();
  for (const meter of scenario.meters) {
    meter.events.forEach((event, index) => {
      if (event.performedAt < scenario.opened) return;
      const day = event.performedAt.toISOString().slice(0, 10);
      if (index === 0) newcomers.set(day, [...(newcomers.get(day) ?? []), meter]);
      else moves.set(day, [...(moves.get(day) ?? []), { meter, event, index }]);
    });
  }
  return [...new Set([...newcomers.keys(), ...moves.keys()])].map((day) => ({
    at: new Date(`${day}T21:30:00Z`),
    username: "petra",
    async work(tx) {
      const added = newcomers.get(day) ?? [];
      if (added.length > 0)
        await addMeters(
          tx,
          added.map((meter) => meterOnRecord(scenario, meter, meter.events.slice(0, 1))),
        );
      const moved = moves.get(day) ?? [];
      if (moved.length > 0) {
        await moveMeters(
          tx,
          moved.map(({ meter, event }) => ({ ...event, meterId: meter.id })),
        );
      }
    },
  }));
}

/** Each technician's tests of a day are recorded together and signed at its end. */
function testDays(scenario: DemoScenario): DemoDay[] {
  const plans = new Map(scenario.plans.map(({ code, id }) => [code, id]));
  const trays = new Map<string, { at: Date; username: string; tests: TestOnRecord[] }>();
  for (const { tester, body, recordedAt, signed } of scenario.tests) {
    const key = `${body.performedAt.slice(0, 10)} ${tester} ${signed}`;
    const tray = trays.get(key) ?? { at: recordedAt, username: tester, tests: [] };
    const { planCode, ...entry } = body;
    tray.tests.push({ body: { ...entry, planId: plans.get(planCode) ?? "", signature: null }, signed });
    if (recordedAt > tray.at) tray.at = recordedAt;
    trays.set(key, tray);
  }
  return [...trays.values()].map(({ at, username, tests }) => ({
    at,
    username,
    async work(tx) {
      await addTestsOnRecord(tx, tests);
    },
  }));
}

function firstAt(meter: DemoMeter): Date {
  const first = meter.events[0];
  if (first === undefined) throw new RangeError("a meter begins with an event");
  return first.performedAt;
}

function meterOnRecord(scenario: DemoScenario, meter: DemoMeter, events: readonly DemoEvent[]) {
  const type = scenario.types[meter.typeIndex];
  if (type === undefined) throw new RangeError("a meter has a type");
  const { id, utilityNumber, serial, owner, firmware, program, purchasedOn } = meter;
  return {
    ...{ id, utilityNumber, serial, owner, firmware, program, purchasedOn },
    typeId: type.id,
    maker: type.type.maker,
    events: events.map((event) => ({ ...event, meterId: id })),
  };
}
