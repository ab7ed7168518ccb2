import { readdirSync } from "node:fs";
import { Fraction } from "@sealbook/metrology/fraction";
import { midLimits } from "@sealbook/metrology/profiles/mid-limits";
import { shippedProfiles } from "@sealbook/metrology/profiles/shipped-profiles";
import { describe, expect, it } from "vitest";

describe("shipped profiles", () => {
  it("each has a conformance file of its own", () => {
    const files = new Set(readdirSync(import.meta.dirname));
    const places: Record<string, string> = {
      "us-nc": "north-carolina",
      "us-pa": "pennsylvania",
      "us-mi": "michigan",
      "us-in": "indiana",
      "us-ok": "oklahoma",
      "us-nd": "north-dakota",
      "us-fl": "florida",
      fr: "france",
    };
    for (const { key } of shippedProfiles) expect(files, key).toContain(`${places[key]}.test.ts`);
  });
});

describe("Directive 2014/32/EU, Annex V, Table 2", () => {
  it("class B from Itr to Imax, balanced, at 35 degrees is 2.5 %", () => {
    expect(midLimits("B", "from Itr to Imax", Fraction.of("35"))).toMatchObject({
      minPercent: "97.5",
      maxPercent: "102.5",
    });
  });
});
