import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import { daysBetween } from "@sealbook/metrology/calendar/local-date";
import type { LifeEventKind, LifeState } from "@sealbook/metrology/life-cycle/legal-moves";
import { instantAfter, weekday } from "./days.ts";
import type { DemoPlaces } from "./places.ts";
import type { Random } from "./random.ts";
import type { DemoType } from "./types-and-plans.ts";

/** What happened to a meter, in order; the last event says where it is now. */
export interface DemoEvent {
  id: string;
  kind: LifeEventKind;
  performedAt: Date;
  placeId: string;
  registerReading: string | null;
  reason: string;
}

/** How a meter truly registers; nobody in the shop knows this, tests only sample it. */
export interface TrueRegistration {
  /** Percent error when new, at full load, and how far light load and power factor are from it. */
  fullLoad: number;
  lightLoadOffset: number;
  powerFactorOffset: number;
  driftPerYear: number;
  fault: "none" | "fast" | "slow" | "creeping" | "not-registering" | "dead" | "damaged";
}

export interface DemoMeter {
  id: string;
  typeIndex: number;
  utilityNumber: string;
  serial: string;
  owner: "utility" | "customer";
  firmware: string;
  program: string;
  purchasedOn: string;
  state: LifeState;
  placeId: string;
  events: DemoEvent[];
  truth: TrueRegistration;
}

const serialPrefix: Record<string, string> = { Brackmere: "BM", Corvane: "CV", Tessary: "T", Hallmoor: "HM" };

/** Every meter of the shop with its life so far. About one in seven is not at a customer's. */
export function demoMeters(
  random: Random,
  today: string,
  types: readonly DemoType[],
  places: DemoPlaces,
): DemoMeter[] {
  const meters: DemoMeter[] = [];
  const free = [...places.servicePoints];
  types.forEach(({ type, meters: count, bought, behaviour }, typeIndex) => {
    for (let i = 0; i < count; i++) {
      const purchasedOn = purchaseDate(random, bought, today);
      const received = instantAfter(weekday(dateAfter(purchasedOn, 20)), 0, random.whole(13 * 60, 20 * 60));
      const number = 200_311 + meters.length * 13 + random.whole(0, 12);
      const solid = type.technology === "solid-state";
      const meter: DemoMeter = {
        id: random.id(received),
        typeIndex,
        utilityNumber: String(number).padStart(8, "0"),
        serial: `${serialPrefix[type.maker] ?? "X"}${purchasedOn.slice(2, 4)}${String(random.whole(1000, 9999)).padStart(4, "0")}${String(meters.length).padStart(4, "0")}`,
        owner: random.chance(0.006) ? "customer" : "utility",
        firmware: solid ? `${random.whole(2, 4)}.${random.whole(0, 9)}.${random.whole(0, 20)}` : "",
        program: solid ? random.pick(["RES-1", "RES-2", "COM-1"]) : "",
        purchasedOn,
        state: "received",
        placeId: places.store.id,
        events: [],
        truth: truthOf(random, behaviour, solid),
      };
      live(random, meter, received, today, places, free);
      meters.push(meter);
    }
  });
  writeTwoMistakes(meters);
  return meters;
}

/** As every book has some: a serial that two makers gave, and a purchase that is dated after the receipt. */
function writeTwoMistakes(meters: readonly DemoMeter[]): void {
  const stocked = meters.filter(({ state }) => state === "in-stock");
  const [one] = stocked;
  const other = stocked.find(({ typeIndex }) => typeIndex > (one?.typeIndex ?? 0) + 1);
  if (one !== undefined && other !== undefined) other.serial = one.serial;
  const third = stocked.find(
    (meter) => meter !== one && meter !== other && meter.purchasedOn.slice(5) < "10",
  );
  const received = third?.events[0]?.performedAt.toISOString().slice(0, 10);
  if (third !== undefined && received !== undefined) third.purchasedOn = dateAfter(received, 3);
}

function purchaseDate(random: Random, [first, last]: readonly [number, number], today: string): string {
  const year = random.whole(first, Math.min(last, Number(today.slice(0, 4))));
  const date = `${year}-${String(random.whole(1, 12)).padStart(2, "0")}-${String(random.whole(1, 28)).padStart(2, "0")}`;
  return daysBetween(date, today) > 60 ? date : dateAfter(today, -random.whole(60, 300));
}

function truthOf(random: Random, behaviour: DemoType["behaviour"], solid: boolean): TrueRegistration {
  const draw = random.next();
  const fault =
    draw < 0.004
      ? "fast"
      : draw < 0.012
        ? "slow"
        : draw < 0.014 && !solid
          ? "creeping"
          : draw < 0.018
            ? "not-registering"
            : draw < 0.02
              ? "dead"
              : draw < 0.022
                ? "damaged"
                : "none";
  return {
    fullLoad: random.normal() * behaviour.spread + (solid ? 0 : -0.1),
    lightLoadOffset: random.normal() * behaviour.lightLoadSpread,
    powerFactorOffset: random.normal() * behaviour.spread * 0.6,
    driftPerYear: behaviour.driftPerYear * (1 + 0.6 * random.normal()),
    fault,
  };
}

/** Walks a meter through its life; each step is an event with its reading. */
function live(
  random: Random,
  meter: DemoMeter,
  received: Date,
  today: string,
  places: DemoPlaces,
  free: { id: string }[],
): void {
  let reading = 0;
  let at = received;
  const happen = (
    kind: DemoEvent["kind"],
    state: LifeState,
    placeId: string,
    daysLater: number,
    reason: string,
    withReading: boolean,
  ): boolean => {
    const drawn = instantAfter(
      weekday(dateAfter(at.toISOString().slice(0, 10), daysLater)),
      0,
      random.whole(13 * 60, 20 * 60),
    );
    // What follows on the same day comes later on it.
    const next = new Date(Math.max(drawn.getTime(), at.getTime() + 10 * 60_000));
    if (kind !== "receive" && next.toISOString().slice(0, 10) >= today) return false;
    at = kind === "receive" ? received : next;
    meter.events.push({
      id: random.id(at),
      kind,
      performedAt: at,
      placeId,
      registerReading: withReading ? String(Math.round(reading)).padStart(5, "0") : null,
      reason,
    });
    meter.state = state;
    meter.placeId = placeId;
    return true;
  };
  happen("receive", "received", places.store.id, 0, "Shipment taken in", false);
  if (random.chance(0.012)) return;
  if (!happen("stock", "in-stock", places.store.id, random.whole(5, 30), "Accepted with its lot", false))
    return;
  if (random.chance(0.05)) return;
  const van = random.pick(places.vans).id;
  if (!happen("issue", "issued", van, random.whole(3, 220), "For installation", false)) return;
  if (random.chance(0.012)) return;
  const point = free.pop();
  if (
    point === undefined ||
    !happen("set", "in-service", point.id, random.whole(0, 6), "New service or meter exchange", true)
  )
    return;
  const years = daysBetween(at.toISOString().slice(0, 10), today) / 365;
  if (!random.chance(Math.min(0.16, 0.008 * years))) return;
  const days = random.whole(200, Math.max(201, Math.floor(years * 365)));
  reading += days * random.whole(14, 42);
  reading %= 100_000;
  if (
    !happen(
      "remove",
      "removed",
      van,
      days,
      random.pick(["Service upgraded", "Customer request", "Exchange programme", "Display failed"]),
      true,
    )
  )
    return;
  free.unshift(point);
  if (random.chance(0.07)) return;
  if (!happen("return", "in-shop", places.shop.id, random.whole(1, 9), "Brought in for test", true)) return;
  if (random.chance(0.45))
    happen("stock", "in-stock", places.store.id, random.whole(3, 40), "Tested and fit for service", false);
  else if (random.chance(0.8))
    happen("retire", "retired", places.cage.id, random.whole(5, 60), "Not worth repair", true);
}
