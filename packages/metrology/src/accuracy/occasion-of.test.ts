import { describe, expect, it } from "vitest";
import { occasionOf, type TestReason } from "./occasion-of.ts";

// Which limits hold for which reason: common practice, no source; the table is written out here by hand.
const table: [TestReason, string][] = [
  ["new-shipment", "new"],
  ["before-installation", "new"],
  ["in-service-sample", "in-service"],
  ["periodic", "in-service"],
  ["removal", "in-service"],
  ["investigation", "in-service"],
  ["check-of-standard", "in-service"],
  ["customer-request", "request"],
  ["referee", "request"],
  ["after-repair", "as-left"],
];

describe("the occasion of a test", () => {
  it.each(table)("%s is judged as %s", (reason, occasion) => {
    expect(occasionOf([reason])).toBe(occasion);
  });

  it("judges a test with several reasons as the most binding one, in any order", () => {
    expect(occasionOf(["before-installation", "removal"])).toBe("in-service");
    expect(occasionOf(["removal", "before-installation"])).toBe("in-service");
    expect(occasionOf(["periodic", "customer-request", "before-installation"])).toBe("request");
    expect(occasionOf(["before-installation", "after-repair"])).toBe("as-left");
    expect(occasionOf(["after-repair", "in-service-sample"])).toBe("in-service");
  });

  it("refuses a test without a reason", () => {
    expect(() => occasionOf([])).toThrow(RangeError);
  });
});
