import type { NewMeterTest } from "@sealbook/contract/meter-tests";
import { type Random, seededRandom } from "@sealbook/database/demo/random";
import { demoScenario } from "@sealbook/database/demo/scenario";
import { daysUntilRecorded } from "@sealbook/database/demo/standards";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import { daysBetween } from "@sealbook/metrology/calendar/local-date";
import type pg from "pg";
import { keepDueDates } from "../modules/due/keep-due-dates.ts";
import {
  numberOfTemplate,
  serialOfTemplate,
  type TestTemplate,
  testTemplates,
} from "../modules/meter-tests/meter-tests.ts";
import { createPerson } from "../modules/people/people.ts";
import { copyText } from "../platform/copy-text.ts";
import { writeEntry } from "../platform/ledger.ts";
import { localDate } from "../platform/local-date.ts";
import { type Actor, inTransaction, newId, type Tx } from "../platform/transaction.ts";
import { LargeUtility } from "./large-utility.ts";
import { forgetLoad, putBack, setIndexesAside, statementsLeft } from "./set-indexes-aside.ts";

/** Rows under one ledger entry, which is one transaction. */
const metersAtOnce = 10_000;
const testsAtOnce = 5_000;
const templatesOfType = 60;
const dayMilliseconds = 86_400_000;

export interface LargeDemo {
  readonly meters: number;
  readonly tests: number;
  /** The same seed on the same day gives the same utility. */
  readonly seed: number;
  readonly today: string;
  /** Told what has been done, and in how many seconds. */
  readonly onStep: (what: string, seconds: number) => void;
}

/**
 * Fills a demo shop with a utility of any size: service points, meters with the event that put each at its place, and
 * tests of three points and more, judged by the shop's own rules. By COPY, as the role that owns the tables, with one
 * ledger entry for some thousand rows; the log binds every row. Indexes and foreign keys are taken off meanwhile, and
 * the keys are checked when they come back.
 *
 * @param pool as the role that owns the tables, of a shop that is the demo and has no large load yet
 */
export async function loadLargeDemo(pool: pg.Pool, demo: LargeDemo): Promise<void> {
  const step = async (what: string, work: () => Promise<void>) => {
    const start = performance.now();
    await work();
    demo.onStep(what, (performance.now() - start) / 1000);
  };
  const inOwn = <Result>(actor: Actor | null, work: (tx: Tx) => Promise<Result>) =>
    inTransaction(pool, actor, async (tx) => {
      // What crashes is thrown away and loaded again, so nothing needs to reach the disk before it goes on.
      await tx.query("SET LOCAL synchronous_commit = off");
      await tx.query("SET LOCAL statement_timeout = 0");
      return await work(tx);
    });

  const scenario = demoScenario(demo.today);
  const clerk: Actor = { id: newId(), role: "technician", username: "old-records" };
  await inOwn(null, (tx) =>
    createPerson(tx, {
      id: clerk.id,
      username: clerk.username,
      name: "Records of the old book",
      role: clerk.role,
      password: `${newId()}`,
    }),
  );
  const firstTest = firstDayOfTests(scenario);
  const utility = new LargeUtility({
    seed: demo.seed,
    meters: demo.meters,
    types: scenario.types.length,
    bought: { from: Date.parse("2003-01-01"), to: Date.parse(dateAfter(firstTest, -150)) },
  });
  const chooser = await inOwn(clerk, (tx) => templateChooser(tx, scenario, demo, firstTest, clerk.id));
  // With the rules' intervals on record, due dates come out right the first time.
  await keepDueDates({ pool });
  await inOwn(null, setIndexesAside);

  await step(`${demo.meters.toLocaleString("en-US")} meters and their service points`, async () => {
    await inChunks(demo.meters, metersAtOnce, (first) =>
      inOwn(clerk, (tx) => copyMeters(tx, utility, scenario, first)),
    );
  });
  await step(`${demo.tests.toLocaleString("en-US")} tests`, async () => {
    await inChunks(demo.tests, testsAtOnce, (first) =>
      inOwn(clerk, (tx) => copyTests(tx, { utility, chooser, demo, firstTest, clerk }, first)),
    );
  });
  await step("indexes and foreign keys", async () => {
    for (const statement of (await inOwn(null, statementsLeft)) ?? []) {
      await inOwn(null, (tx) => putBack(tx, statement));
    }
    // What PostgreSQL would do by itself while the first people work, it has done.
    await pool.query("VACUUM (ANALYZE)");
  });
  await step("where each meter stands", async () => {
    let after = "00000000-0000-0000-0000-000000000000";
    for (;;) {
      const ids = await inOwn(null, (tx) => refreshStandings(tx, after));
      const last = ids.at(-1);
      if (last === undefined) break;
      after = last;
    }
    await inOwn(null, forgetLoad);
    await pool.query("VACUUM (ANALYZE) meter_standing");
  });
}

/** Does the chunks of so many rows, two side by side: the database then has two processors to work with. */
async function inChunks(rows: number, atOnce: number, work: (first: number) => Promise<void>): Promise<void> {
  let next = 0;
  const inTurn = async () => {
    while (next < rows) {
      const first = next;
      next += atOnce;
      await work(first);
    }
  };
  await Promise.all([inTurn(), inTurn()]);
}

type Scenario = ReturnType<typeof demoScenario>;

/** Tests lean on working standards, so they begin when the first of these was in calibration. */
function firstDayOfTests({ standards }: Scenario): string {
  const days = standards
    .filter(({ rank }) => rank === "working")
    .map(({ calibrations }) => calibrations.map(({ calibratedOn }) => calibratedOn).sort()[0] ?? "");
  return dateAfter(days.sort().at(-1) ?? "", daysUntilRecorded + 1);
}

// ---------------------------------------------------------------------------------------------------------------
// Meters

async function copyMeters(tx: Tx, utility: LargeUtility, scenario: Scenario, first: number): Promise<void> {
  const end = Math.min(first + metersAtOnce, utility.meters);
  const meters = Array.from({ length: end - first }, (_, offset) => utility.meter(first + offset));
  const entryId = await loadEntry(tx, "meters", first, end, meters.at(-1)?.placedAt ?? "");
  const atPoints = meters.flatMap(({ point }, offset) =>
    point === null ? [] : [{ point, address: utility.address(first + offset) }],
  );
  await tx.copyIn(
    "COPY personal_value (id, kind, salt, value, commitment) FROM STDIN",
    copyText(
      atPoints.map(({ address }) => [
        address.id,
        "address",
        `\\x${address.salt.toString("hex")}`,
        address.value,
        address.commitment,
      ]),
    ),
  );
  await tx.copyIn(
    "COPY place (id, kind, name, entry_id) FROM STDIN",
    copyText(atPoints.map(({ point }) => [point.id, "service-point", point.number, entryId])),
  );
  await tx.copyIn(
    "COPY service_point (id, number, address_id, area, jurisdiction, entry_id) FROM STDIN",
    copyText(
      atPoints.map(({ point, address }) => [
        point.id,
        point.number,
        address.id,
        address.area,
        scenario.shop.homeJurisdiction,
        entryId,
      ]),
    ),
  );
  await tx.copyIn(
    `COPY meter (id, utility_number, serial, owner, type_id, maker, firmware, program, purchased_on, state, place_id, entry_id)
     FROM STDIN`,
    copyText(
      meters.map((meter) => {
        const type = scenario.types[meter.typeIndex];
        return [
          meter.id,
          meter.utilityNumber,
          meter.serial,
          "utility",
          type?.id ?? null,
          type?.type.maker ?? null,
          "",
          "",
          meter.purchasedOn,
          meter.point === null ? "received" : "in-service",
          meter.point?.id ?? scenario.places.store.id,
          entryId,
        ];
      }),
    ),
  );
  await tx.copyIn(
    "COPY meter_event (id, meter_id, kind, performed_at, place_id, register_reading, reason, entry_id) FROM STDIN",
    copyText(
      meters.map((meter) => [
        meter.eventId,
        meter.id,
        meter.point === null ? "receive" : "set",
        meter.placedAt,
        meter.point?.id ?? scenario.places.store.id,
        meter.reading,
        "",
        entryId,
      ]),
    ),
  );
}

/** The entry of some rows, written on the day of the last of them. */
async function loadEntry(tx: Tx, what: string, first: number, end: number, at: string): Promise<string> {
  await tx.query("SELECT set_config('sealbook.demo_clock', $1, true)", [at]);
  return await writeEntry(tx, {
    action: "demo.load",
    subjectType: "demo",
    subjectId: what,
    payload: { what, first, rows: end - first },
  });
}

/** Works out where the next meters stand; their ids, or none when all are done. */
async function refreshStandings(tx: Tx, after: string): Promise<string[]> {
  const rows = await tx.query<{ id: string }>(
    `WITH batch AS MATERIALIZED (SELECT id FROM meter WHERE id > $1 ORDER BY id LIMIT 20000),
       done AS MATERIALIZED (SELECT refresh_meter_standing(array_agg(id))::text AS nothing FROM batch)
     SELECT batch.id FROM batch, done WHERE done.nothing IS NOT NULL ORDER BY batch.id`,
    [after],
  );
  return rows.map(({ id }) => id);
}

// ---------------------------------------------------------------------------------------------------------------
// Tests

/** A judged test in pieces, so that a meter's own numbers are put in between. */
interface Template {
  readonly test: TestTemplate;
  /** The entry's text and the evaluation's, escaped for COPY. */
  readonly beforeSerial: string;
  readonly beforeNumber: string;
  readonly rest: string;
  readonly evaluation: string;
  /** Local dates for which its standard and calibration hold. */
  readonly from: string;
  readonly to: string;
}

type Chooser = (typeIndex: number, date: string, chance: number) => Template;

/** Judges some tests of each type on days all over the years, to be put on record many times over. */
async function templateChooser(
  tx: Tx,
  scenario: Scenario,
  demo: LargeDemo,
  firstTest: string,
  testerId: string,
): Promise<Chooser> {
  const random = seededRandom(demo.seed);
  const days = daysBetween(firstTest, demo.today) - 1;
  const wanted = scenario.types.flatMap(({ id: typeId, type }, typeIndex) =>
    Array.from({ length: templatesOfType }, (_, index) => {
      const plan = scenario.plans.find(({ code }) => code === type.testPlanCode);
      const date = dateAfter(firstTest, Math.floor((index / templatesOfType) * days));
      if (plan === undefined) throw new Error(`the demo has no plan ${type.testPlanCode}`);
      return {
        typeIndex,
        typeId,
        planId: plan.id,
        body: testOfOldBook(random, scenario, plan, date, type.designVolts),
      };
    }),
  );
  const tests = await testTemplates(tx, wanted, {
    jurisdiction: scenario.shop.homeJurisdiction,
    testerId,
  });
  const byType = scenario.types.map((): Template[] => []);
  tests.forEach((test, index) => {
    const typeIndex = wanted[index]?.typeIndex ?? 0;
    const standard = scenario.standards.find(({ id }) => id === test.standardId);
    const calibrations = [...(standard?.calibrations ?? [])].sort((one, other) =>
      one.calibratedOn.localeCompare(other.calibratedOn),
    );
    const at = calibrations.findIndex(({ id }) => id === test.calibrationId);
    const own = calibrations[at];
    if (own === undefined) return;
    const next = calibrations[at + 1];
    // Canonical JSON has the serial before the utility's number.
    const [beforeSerial = "", afterSerial = ""] = escapedForCopy(test.entryBody).split(serialOfTemplate);
    const [beforeNumber = "", rest] = afterSerial.split(numberOfTemplate);
    if (rest === undefined) throw new Error("a nameplate has a serial and a number");
    byType[typeIndex]?.push({
      test,
      beforeSerial,
      beforeNumber,
      rest,
      evaluation: escapedForCopy(test.evaluation),
      from: dateAfter(own.calibratedOn, daysUntilRecorded + 1),
      to: next === undefined ? demo.today : dateAfter(next.calibratedOn, -1),
    });
  });
  return (typeIndex, date, chance) => {
    const templates = byType[typeIndex] ?? [];
    for (let turn = 0; turn < templates.length; turn++) {
      const template = templates[(chance + turn) % templates.length];
      if (template !== undefined && template.from <= date && date <= template.to) return template;
    }
    throw new Error(`no template holds for type ${typeIndex} on ${date}`);
  };
}

/** A test as another book of the utility's kept it: one figure a point as found, and nothing of how it came about. */
function testOfOldBook(
  random: Random,
  { standards }: Scenario,
  plan: Scenario["plans"][number],
  date: string,
  volts: string,
): Omit<NewMeterTest, "planId" | "signature"> {
  const performedAt = new Date(`${date}T17:00:00Z`);
  const standard = random.pick(
    standards.filter(
      ({ rank, calibrations }) =>
        rank === "working" &&
        calibrations.some(
          ({ calibratedOn, dueOn }) =>
            dateAfter(calibratedOn, daysUntilRecorded + 1) <= date && date <= dueOn,
        ),
    ),
  );
  // Most meters are within a few tenths of a percent; one in fifty runs off.
  const own = random.chance(0.02) ? random.pick([-3.1, 2.7]) : random.normal() * 0.2;
  return {
    id: random.id(performedAt),
    meterId: random.id(performedAt),
    reasons: ["periodic"],
    workItemIds: [],
    performedAt: performedAt.toISOString(),
    standardId: standard.id,
    errorAppliedByBench: true,
    outcome: {
      kind: "tested",
      asFound: {
        points: plan.body.points.map(({ key, runs }) => ({
          pointKey: key,
          runs: Array.from({ length: runs }, () => ({
            kind: "registration" as const,
            registrationPercent: (100 + own + random.normal() * 0.1).toFixed(2),
          })),
        })),
        creep: "none",
      },
      asLeft: { kind: "not-tested", why: "The old book kept as-found figures alone." },
    },
    conditions: { volts, amperes: null, temperatureCelsius: null },
    preconditionsConfirmed: [...plan.body.preconditions],
    readingBefore: null,
    readingAfter: null,
    sealsRemoved: [],
    sealsApplied: [],
    remarks: "",
    fileIds: [],
  };
}

function escapedForCopy(text: string): string {
  return [...copyText([[text]])].join("").slice(0, -1);
}

async function copyTests(
  tx: Tx,
  {
    utility,
    chooser,
    demo,
    firstTest,
    clerk,
  }: { utility: LargeUtility; chooser: Chooser; demo: LargeDemo; firstTest: string; clerk: Actor },
  first: number,
): Promise<void> {
  const end = Math.min(first + testsAtOnce, demo.tests);
  const from = Date.parse(firstTest);
  const span = Date.parse(demo.today) - from - dayMilliseconds;
  const tests = Array.from({ length: end - first }, (_, offset) => {
    const index = first + offset;
    const day = from + Math.floor(((index / demo.tests) * span) / dayMilliseconds) * dayMilliseconds;
    const chance = utility.chanceOfTest(index);
    // Between 14:00 and 21:00 UTC it is daytime in the shop, and the same date.
    const performedAt = day + 14 * 3_600_000 + (chance % 25_200) * 1000;
    const meter = utility.meter(utility.meterOfTest(index));
    const date = new Date(day).toISOString().slice(0, 10);
    return {
      id: utility.testId(index, performedAt),
      meter,
      at: new Date(performedAt).toISOString(),
      template: chooser(meter.typeIndex, date, chance >>> 8),
    };
  });
  const recorded = new Date(from + Math.floor(((end - 1) / demo.tests) * span) + dayMilliseconds);
  const entryId = await loadEntry(tx, "tests", first, end, recorded.toISOString());
  const lines = function* () {
    let piece = "";
    for (const { id, meter, at, template } of tests) {
      const { test } = template;
      piece += `${id}\t${meter.id}\t${test.planId}\t${test.profileId}\t${meter.point?.id}\t{periodic}\t${at}\t${clerk.id}\tentered\t${test.standardId}\t${test.calibrationId}\t${test.errorAppliedByBench}\t${test.outcome}\t`;
      piece += `${template.beforeSerial}${meter.serial}${template.beforeNumber}${meter.utilityNumber}${template.rest}\t${template.evaluation}\t`;
      piece += `${test.engineVersion}\t${test.verdictAsFound}\t${cell(test.verdictAsLeft)}\t${cell(test.averageAsFound)}\t${cell(test.averageAsLeft)}\t${cell(test.creeping)}\t${entryId}\n`;
      if (piece.length < 65_536) continue;
      yield piece;
      piece = "";
    }
    yield piece;
  };
  await tx.copyIn(
    `COPY meter_test (id, meter_id, plan_id, profile_id, place_id, reasons, performed_at, tester_id, method, standard_id,
       calibration_id, error_applied_by_bench, outcome, entry_body, evaluation, engine_version, verdict_as_found,
       verdict_as_left, average_as_found, average_as_left, creeping, entry_id) FROM STDIN`,
    lines(),
  );
  await tx.copyIn(
    "COPY meter_test_point (test_id, pass, ordinal, point_key, role, registration_percent, verdict) FROM STDIN",
    copyText(
      tests.flatMap(({ id, template }) =>
        template.test.points.map((point) => [
          id,
          point.pass,
          String(point.ordinal),
          point.pointKey,
          point.role,
          point.registrationPercent,
          point.verdict,
        ]),
      ),
    ),
  );
}

function cell(value: string | boolean | null): string {
  return value === null ? "\\N" : String(value);
}

/** Today in the demo shop's own zone. */
export function demoToday(): string {
  return localDate(new Date(), "America/New_York");
}
