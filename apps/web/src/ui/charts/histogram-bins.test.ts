import { describe, expect, it } from "vitest";
import { histogramBins } from "./histogram-bins.ts";

// Counted by hand.
describe("histogramBins", () => {
  it("counts a value that stands on an edge into the class above it", () => {
    const bins = histogramBins([99.8, 99.9, 100, 100.1, 100.2, 100.2]);
    expect(bins.map(({ from, count }) => [from, count])).toEqual([
      [99.8, 1],
      [99.9, 1],
      [100, 1],
      [100.1, 1],
      [100.2, 2],
    ]);
  });

  it("holds every value, those below zero too", () => {
    const values = [-0.31, -0.05, 0, 0.12, 0.12, 0.27];
    const bins = histogramBins(values);
    expect(bins.reduce((sum, bin) => sum + bin.count, 0)).toBe(values.length);
    expect(bins.at(0)?.from).toBeLessThanOrEqual(-0.31);
    expect(bins.at(-1)?.to).toBeGreaterThan(0.27);
  });

  it("gives values that are all equal one class", () => {
    expect(histogramBins([100, 100, 100])).toEqual([{ from: 100, to: expect.any(Number), count: 3 }]);
  });

  it("refuses an empty list", () => {
    expect(() => histogramBins([])).toThrow(RangeError);
  });
});
