import { Decimal } from "decimal.js";
import fc from "fast-check";
import { expect, it } from "vitest";
import { roundedToWhole } from "./rounded-to-whole.ts";

it("agrees with decimal.js, whose ROUND_HALF_UP rounds half away from zero, on any decimal", () => {
  const decimal = fc.stringMatching(/^[+-]?\d{1,9}(\.\d{0,9})?$/);
  fc.assert(
    fc.property(decimal, fc.integer({ min: 0, max: 6 }), (text, places) => {
      const scaled = new Decimal(text.replace(/\.$/, "")).times(new Decimal(10).pow(places));
      expect(roundedToWhole(text, places)).toBe(
        scaled.toDecimalPlaces(0, Decimal.ROUND_HALF_UP).toNumber() + 0,
      );
    }),
    { numRuns: 5_000 },
  );
});

it.each(["", "-", ".", ".5", "1e3", "1.2.3", " 1", "1 ", "1234567890", "NaN", "1,5", "--1", "٣"])(
  "refuses %j, which is no decimal that can be counted",
  (text) => {
    expect(() => roundedToWhole(text, 1)).toThrow(RangeError);
  },
);
