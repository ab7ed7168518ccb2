import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { niceTicks } from "../../../apps/web/src/ui/charts/nice-ticks.ts";

describe("round values of an axis", () => {
  test("are multiples of 1, 2 or 5 times a power of ten, written without binary dust", () => {
    expect(niceTicks(97.6, 102.4, 6)).toEqual([98, 99, 100, 101, 102]);
    expect(niceTicks(99.87, 100.13, 7)).toEqual([99.9, 99.95, 100, 100.05, 100.1]);
    expect(niceTicks(0, 10, 3)).toEqual([0, 5, 10]);
  });

  test("never leave the axis, never exceed the wanted number, and are evenly spaced", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1000, max: 1000, noNaN: true }),
        fc.double({ min: 0.001, max: 1000, noNaN: true }),
        fc.integer({ min: 2, max: 12 }),
        (from, span, most) => {
          const ticks = niceTicks(from, from + span, most);
          expect(ticks.length).toBeLessThanOrEqual(most);
          for (const tick of ticks) {
            expect(tick).toBeGreaterThanOrEqual(from - span * 1e-6);
            expect(tick).toBeLessThanOrEqual(from + span + span * 1e-6);
          }
          const steps = ticks.slice(1).map((tick, index) => tick - (ticks[index] ?? Number.NaN));
          for (const step of steps) expect(step).toBeCloseTo(steps[0] ?? Number.NaN, 6);
        },
      ),
    );
  });

  test("refuse an empty axis and less than two values", () => {
    expect(() => niceTicks(1, 1, 5)).toThrow(RangeError);
    expect(() => niceTicks(Number.NaN, 1, 5)).toThrow(RangeError);
    expect(() => niceTicks(0, 1, 1)).toThrow(RangeError);
  });
});
