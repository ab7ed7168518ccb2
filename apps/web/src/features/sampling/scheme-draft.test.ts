import { samplingSchemeSchema } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { shippedSchemes } from "@sealbook/metrology/sampling/schemes/shipped-schemes";
import { describe, expect, it } from "vitest";
import { choiceOfScheme } from "./choice-of-scheme.ts";
import { schemeBodyOf, schemeDraftOf } from "./scheme-draft.ts";
import { schemeDraftErrors } from "./scheme-draft-errors.ts";

describe("the form of a sampling scheme", () => {
  it("gives back every shipped scheme that leaves nothing open as it was", () => {
    const whole = shippedSchemes.flatMap(({ body }) => {
      const read = samplingSchemeSchema.safeParse(body);
      return read.success ? [read.data] : [];
    });
    expect(whole.length).toBeGreaterThanOrEqual(2);
    for (const body of whole) {
      expect(schemeBodyOf(schemeDraftOf(body))).toEqual(body);
      expect(schemeDraftErrors(schemeDraftOf(body))).toEqual([]);
    }
  });

  it("names what a shipped scheme leaves open", () => {
    const michigan = shippedSchemes.find((scheme) => scheme.key === "michigan-in-service");
    expect(michigan).toBeDefined();
    if (michigan === undefined) return;
    const pointers = schemeDraftErrors(schemeDraftOf(michigan.body)).map((error) => error.pointer);
    // R 460.3613(3)(d) was cut off in the text read: neither the AQL nor the limits are known.
    expect(pointers).toContain("/body/plan/aqlPercent");
    expect(pointers).toContain("/body/characteristics/0/limits/minPercent");
    expect(pointers).toContain("/body/characteristics/1/limits/maxPercent");
  });

  it("places an error by the characteristics that are judged", () => {
    const [house] = shippedSchemes;
    if (house === undefined) throw new Error("no scheme is shipped");
    const draft = schemeDraftOf(house.body);
    // Full load and average are judged; the average, last in the form, is the second of the body.
    const errors = schemeDraftErrors({
      ...draft,
      characteristics: draft.characteristics.map((one) =>
        one.characteristic === "full-load"
          ? { ...one, isJudged: true, minPercent: "98", maxPercent: "102", source: "agreed" }
          : one.characteristic === "average"
            ? { ...one, maxPercent: "102,5" }
            : one,
      ),
    });
    expect(errors).toEqual([
      { pointer: "/body/characteristics/1/limits/maxPercent", detail: "Write a number such as 2.5." },
    ]);
  });
});

describe("the plan chooser's answer to a scheme", () => {
  it("asks for the scheme's own tables, level and AQL", () => {
    const planOf = (key: string) => {
      const body = shippedSchemes.find((scheme) => scheme.key === key)?.body;
      if (body === undefined) throw new Error(`no scheme ${key} is shipped`);
      return schemeBodyOf(schemeDraftOf(body)).plan;
    };
    expect(choiceOfScheme(planOf("house-shipment"))).toEqual({
      standard: "attributes",
      level: "II",
      aql: "1",
    });
    // 170 IAC 4-1-10(c): ANSI/ASQ Z1.9, level II, AQL 2.5.
    expect(choiceOfScheme(planOf("indiana-in-service"))).toEqual({
      standard: "z1.9",
      level: "II",
      aql: "2.5",
    });
    expect(choiceOfScheme(planOf("france-in-service"))?.standard).toBe("france-in-service");
  });
});
