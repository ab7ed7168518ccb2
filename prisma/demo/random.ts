import { uuidV7 } from "@sealbook/evidence/uuid-v7";

/** Seeded randomness of the demo: the same seed tells the same story every time. */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Whole number from least to most, both included. */
  whole(least: number, most: number): number;
  /** Normal with mean 0 and standard deviation 1. */
  normal(): number;
  pick<T>(list: readonly T[]): T;
  /** True with this probability. */
  chance(probability: number): boolean;
  /** UUID of version 7 for a record of that instant. */
  id(at: Date): string;
}

/** @param seed any whole number; the generator is mulberry32, which is plenty for a story and no use for secrets */
export function seededRandom(seed: number): Random {
  let state = seed >>> 0;
  function next(): number {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  }
  const whole = (least: number, most: number) => least + Math.floor(next() * (most - least + 1));
  return {
    next,
    whole,
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    pick(list) {
      const chosen = list[Math.floor(next() * list.length)];
      if (chosen === undefined) throw new RangeError("nothing to pick from");
      return chosen;
    },
    chance: (probability) => next() < probability,
    id: (at) =>
      uuidV7(
        at.getTime(),
        Uint8Array.from({ length: 10 }, () => whole(0, 255)),
      ),
  };
}
