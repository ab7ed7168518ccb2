import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { rebased } from "../../../apps/web/src/trade/rebased.ts";

describe("one's changes on top of a newer version", () => {
  const opened = { kh: "7.2", dials: "5", factors: { series: "2" } };

  test("keep what one changed and take over what the other changed", () => {
    const mine = { ...opened, kh: "3.6" };
    const newer = { ...opened, dials: "6", factors: { series: "4" } };
    expect(rebased(opened, mine, newer)).toEqual({ kh: "3.6", dials: "6", factors: { series: "4" } });
  });

  test("keep one's own where both changed the same field", () => {
    expect(rebased(opened, { ...opened, kh: "3.6" }, { ...opened, kh: "1.8" }).kh).toBe("3.6");
  });

  test("change nothing of the newer version for somebody who changed nothing", () => {
    const record = fc.record({
      kh: fc.string(),
      dials: fc.string(),
      factors: fc.record({ series: fc.string() }),
    });
    fc.assert(
      fc.property(record, record, (old, newer) => {
        expect(rebased(old, structuredClone(old), newer)).toEqual(newer);
      }),
    );
  });
});
