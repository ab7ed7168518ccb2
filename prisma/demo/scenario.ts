import type { TestReason } from "@sealbook/contract/work-items";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import { instantAfter } from "./days.ts";
import { type DemoMeter, demoMeters } from "./meters.ts";
import { type DemoPlaces, demoPlaces } from "./places.ts";
import { seededRandom } from "./random.ts";
import { type DemoSignIn, demoSignIns } from "./sign-ins.ts";
import { type DemoStandard, demoStandards } from "./standards.ts";
import { type DemoTest, demoTests } from "./tests.ts";
import { type DemoPlan, type DemoType, demoPlans, demoTypes } from "./types-and-plans.ts";

/** The demo shop as data: who, what, where, and three years of tests. Nothing here knows a database. */
export interface DemoScenario {
  shop: { name: string; timeZone: string; homeJurisdiction: string };
  /** When the book of record was opened. */
  opened: Date;
  people: readonly (DemoSignIn & { id: string })[];
  places: DemoPlaces;
  plans: readonly (DemoPlan & { id: string })[];
  types: readonly (DemoType & { id: string })[];
  standards: readonly DemoStandard[];
  meters: readonly DemoMeter[];
  tests: readonly DemoTest[];
  work: readonly {
    id: string;
    meterId: string;
    reason: TestReason;
    dueOn: string | null;
    note: string;
    openedAt: Date;
    openedBy: string;
  }[];
}

const seed = 20_261_125;

/**
 * The story of the demo shop up to a day; the same day tells the same story.
 *
 * @param today calendar date of the shop, ISO 8601
 */
export function demoScenario(today: string): DemoScenario {
  const random = seededRandom(seed);
  const opened = instantAfter(today, -4 * 365);
  const people = demoSignIns.map((person) => ({ ...person, id: random.id(opened) }));
  const plans = demoPlans.map((plan) => ({ ...plan, id: random.id(opened) }));
  const types = demoTypes.map((type) => ({ ...type, id: random.id(opened) }));
  const meterCount = types.reduce((sum, { meters }) => sum + meters, 0);
  const places = demoPlaces(random, opened, Math.round(meterCount * 0.9));
  const standards = demoStandards(random, today);
  const meters = demoMeters(random, today, types, places);
  const tests = demoTests(random, today, types, meters, standards);
  return {
    shop: {
      name: "Quillmoor Valley Electric, meter shop",
      timeZone: "America/New_York",
      homeJurisdiction: "us-nc",
    },
    opened,
    people,
    places,
    plans,
    types,
    standards,
    meters,
    tests,
    work: openWork(random, today, meters),
  };
}

const notes: Partial<Record<TestReason, readonly string[]>> = {
  "customer-request": [
    "Bill doubled since spring",
    "Customer asks to be present",
    "Second request this year",
  ],
  investigation: ["Consumption fell to nothing in March", "Seal found cut on reading round"],
  periodic: [""],
  referee: ["Regulator's witness named; do not open before they are here"],
};

function openWork(
  random: ReturnType<typeof seededRandom>,
  today: string,
  meters: readonly DemoMeter[],
): DemoScenario["work"] {
  const inService = meters.filter(({ state }) => state === "in-service");
  const asked = new Set<string>();
  return Array.from({ length: 34 }, () => {
    const reason = random.pick([
      "periodic",
      "periodic",
      "customer-request",
      "investigation",
      "customer-request",
      "referee",
    ] as const);
    const openedAt = instantAfter(today, -random.whole(1, 40), random.whole(13 * 60, 21 * 60));
    return {
      id: random.id(openedAt),
      meterId: random.pick(inService).id,
      reason,
      dueOn:
        reason === "investigation" && random.chance(0.5) ? null : dateAfter(today, random.whole(-12, 45)),
      note: random.pick(notes[reason] ?? [""]),
      openedAt,
      openedBy: random.pick(["marguerite", "dorian"]),
    };
  }).filter(({ meterId, reason }) => {
    // A meter is asked for once for one reason.
    const key = `${meterId} ${reason}`;
    if (asked.has(key)) return false;
    asked.add(key);
    return true;
  });
}
