import { createHash } from "node:crypto";
import { commitment } from "@sealbook/evidence/commitment";

/**
 * A utility of any size as data: each meter, service point and test is a function of the seed and its own number, so
 * that millions need no memory and the same seed gives the same utility. Names are invented.
 */

const areas = [
  "Harrow Fen",
  "Lower Quill",
  "Ostler Hill",
  "Saltmarsh",
  "Mill Reach",
  "Carr End",
  "Long Holm",
];
const streets = [
  "Alder Row",
  "Bellmaker Lane",
  "Coppice Road",
  "Drover Street",
  "Eelgate",
  "Fuller Walk",
  "Gannet Close",
  "Hawthorn Rise",
  "Kiln Bank",
  "Lockhouse Road",
  "Netherfold",
  "Orchard Terrace",
  "Plover Lane",
  "Quarry Hill",
  "Ropewalk",
  "Saddler Street",
];
const dayMilliseconds = 86_400_000;
/** Of twenty meters so many are in store. */
const inStoreOfTwenty = 3;

type Kind = "meter" | "event" | "point" | "address" | "test" | "salt" | "choice";
const kinds: readonly Kind[] = ["meter", "event", "point", "address", "test", "salt", "choice"];

export interface LargeMeter {
  readonly id: string;
  readonly eventId: string;
  readonly utilityNumber: string;
  readonly serial: string;
  /** Which of the types given, 0 for the first. */
  readonly typeIndex: number;
  readonly purchasedOn: string;
  readonly placedAt: string;
  readonly reading: string | null;
  /** Null where it is in store. */
  readonly point: { readonly id: string; readonly number: string } | null;
}

export class LargeUtility {
  readonly meters: number;
  readonly #seed: number;
  readonly #types: number;
  readonly #bought: { readonly from: number; readonly to: number };
  readonly #step: number;

  /**
   * @param options.meters  how many, 20 or more
   * @param options.types   how many meter types they are of
   * @param options.bought  the time over which they were bought, milliseconds since 1970
   */
  constructor(options: {
    seed: number;
    meters: number;
    types: number;
    bought: { from: number; to: number };
  }) {
    if (options.meters < 20) throw new RangeError("a large utility has 20 meters or more");
    this.meters = options.meters;
    this.#seed = options.seed;
    this.#types = options.types;
    this.#bought = options.bought;
    this.#step = primeBeside(this.inService);
  }

  get inService(): number {
    return Math.floor(this.meters / 20) * (20 - inStoreOfTwenty);
  }

  meter(index: number): LargeMeter {
    const { from, to } = this.#bought;
    const bought = from + Math.floor((index / this.meters) * (to - from));
    const chance = this.#chance("choice", index);
    const isInService = index % 20 >= inStoreOfTwenty;
    const placedAt = bought + (isInService ? 30 + (chance % 90) : 20) * dayMilliseconds + 16 * 3_600_000;
    return {
      id: this.#id("meter", index, bought),
      eventId: this.#id("event", index, bought),
      utilityNumber: `7${String(index).padStart(8, "0")}`,
      serial: `LD${String((index * 7_368_787) % 1_000_000_007).padStart(10, "0")}`,
      typeIndex: (chance >>> 8) % this.#types,
      purchasedOn: new Date(bought).toISOString().slice(0, 10),
      placedAt: new Date(placedAt).toISOString(),
      reading: isInService ? "0" : null,
      point: isInService
        ? { id: this.#id("point", index, bought), number: `8${String(index).padStart(8, "0")}` }
        : null,
    };
  }

  /** Address of the service point of the meter with this number. */
  address(index: number): { id: string; value: string; salt: Buffer; commitment: string; area: string } {
    const chance = this.#chance("address", index);
    const value = `${1 + (chance % 240)} ${streets[(chance >>> 8) % streets.length]}`;
    const salt = createHash("sha256").update(`${this.#seed} ${index}`).digest().subarray(0, 16);
    return {
      id: this.#id("address", index, this.#bought.from),
      value,
      salt,
      commitment: commitment(salt, value),
      area: areas[(chance >>> 16) % areas.length] ?? "",
    };
  }

  /** The meter that test number `index` was made of: all in service come in turn, in no order that anyone sees. */
  meterOfTest(index: number): number {
    const turn = ((index % this.inService) * this.#step) % this.inService;
    const each = 20 - inStoreOfTwenty;
    return Math.floor(turn / each) * 20 + inStoreOfTwenty + (turn % each);
  }

  testId(index: number, performedAt: number): string {
    return this.#id("test", index, performedAt);
  }

  /** A whole number of 32 bits that belongs to this test. */
  chanceOfTest(index: number): number {
    return this.#chance("test", index);
  }

  #chance(kind: Kind, index: number): number {
    return mixed(this.#seed, kinds.indexOf(kind) + 1, index, 0);
  }

  /** @source RFC 9562 section 5.7, with the seed's numbers where it has random ones */
  #id(kind: Kind, index: number, at: number): string {
    const time = at.toString(16).padStart(12, "0");
    const place = kinds.indexOf(kind) + 1;
    const one = mixed(this.#seed, place, index, 1);
    const two = mixed(this.#seed, place, index, 2);
    const three = mixed(this.#seed, place, index, 3);
    const variant = 0x8000 | (one >>> 18);
    return `${time.slice(0, 8)}-${time.slice(8)}-7${hex4(one & 0xfff).slice(1)}-${hex4(variant)}-${hex4(two >>> 16)}${hex4(two & 0xffff)}${hex4(three >>> 16)}`;
  }
}

const hexes = Array.from({ length: 65_536 }, (_, value) => value.toString(16).padStart(4, "0"));

function hex4(value: number): string {
  return hexes[value] ?? "0000";
}

/** 32 bits out of four numbers, each bit of which depends on all of them. */
function mixed(seed: number, kind: number, index: number, part: number): number {
  let state = Math.imul(seed ^ Math.imul(kind, 0x9e3779b1), 0x85ebca6b);
  for (const value of [index, part]) {
    state = Math.imul(state ^ value, 0xc2b2ae35);
    state ^= state >>> 15;
    state = Math.imul(state, 0x2c1b3c6d);
    state ^= state >>> 13;
  }
  state = Math.imul(state ^ (state >>> 16), 0x297a2d39);
  return (state ^ (state >>> 15)) >>> 0;
}

/** A prime of some thousands that does not divide the number, so that its multiples meet every rest. */
function primeBeside(number: number): number {
  return [7_919, 7_907, 7_901, 7_883].find((prime) => number % prime !== 0) ?? 1;
}
