import { describe, expect, it } from "vitest";
import { shippedProfiles } from "../../profiles/shipped-profiles.ts";
import { planLot } from "../decision/plan-lot.ts";
import { samplingSchemeSchema } from "../decision/sampling-scheme.ts";
import { shippedSchemes } from "./shipped-schemes.ts";

const limits = { minPercent: "98", maxPercent: "102", source: "given by a person" };

describe("the schemes that come with the product", () => {
  it("have keys of their own and name profiles that come with it, too", () => {
    expect(new Set(shippedSchemes.map(({ key }) => key)).size).toBe(shippedSchemes.length);
    const profiles = shippedProfiles.map(({ key }) => key);
    for (const { body } of shippedSchemes) {
      if (body.jurisdiction !== null) expect(profiles).toContain(body.jurisdiction);
    }
  });

  it.each(shippedSchemes.map((preset) => [preset.key, preset] as const))(
    "%s asks for what its source was not read for, and is usable once that is given",
    (_, { body, asks }) => {
      const open =
        (body.plan.kind !== "plan-table" && body.plan.aqlPercent === null) ||
        body.characteristics.some((one) => one.characteristic !== "verdict" && one.limits === null);
      expect(samplingSchemeSchema.safeParse(body).success).toBe(!open);
      if (open) expect(asks.length).toBeGreaterThan(0);
      const given = samplingSchemeSchema.parse({
        ...body,
        plan:
          body.plan.kind === "plan-table"
            ? body.plan
            : { ...body.plan, aqlPercent: body.plan.aqlPercent ?? "2.5" },
        characteristics: body.characteristics.map((one) =>
          one.characteristic === "verdict" ? one : { ...one, limits: one.limits ?? limits },
        ),
      });
      expect(planLot(given, 5000, {}).kind).toBe("planned");
    },
  );
});
