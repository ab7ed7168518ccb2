import { describe, expect, it } from "vitest";
import { franceInServicePlans } from "../attributes/france-in-service-plans.ts";
import { planTableSchema } from "../attributes/plan-table.ts";
import { type FirstTry, secondTry } from "./second-try.ts";

// France, order of 1 August 2013, Article 23: a lot refused under the normal plan may be presented under the tightened one
// within three months. The days are counted by hand on the calendar.

const plan = { kind: "plan-table", table: franceInServicePlans } as const;
const refused: FirstTry = {
  outcome: "not-accepted",
  decidedOn: "2026-09-15",
  severities: ["normal"],
  isSecondTry: false,
};

describe("a second try", () => {
  it.each([
    ["2026-09-15", "2026-09-15", "2026-12-15", true],
    ["2026-09-15", "2026-12-15", "2026-12-15", true],
    ["2026-09-15", "2026-12-16", "2026-12-15", false],
    ["2026-11-30", "2027-02-28", "2027-02-28", true],
    ["2026-11-30", "2027-03-01", "2027-02-28", false],
  ])("after a refusal on %s may be asked for on %s: until %s, %s", (decidedOn, today, until, may) => {
    const found = secondTry({ plan }, { ...refused, decidedOn }, today);
    expect(found).toMatchObject({ until, source: franceInServicePlans.source });
    expect(found?.refusal ?? null).toBe(
      may ? null : `It could be asked for until ${until}, 3 months after the lot was decided.`,
    );
  });

  it("follows a refusal under normal inspection only, and once", () => {
    const today = "2026-09-20";
    expect(secondTry({ plan }, { ...refused, outcome: "accepted" }, today)).toBeNull();
    expect(secondTry({ plan }, { ...refused, severities: ["tightened"] }, today)?.refusal).toMatch(
      /under tightened inspection already/,
    );
    expect(secondTry({ plan }, { ...refused, isSecondTry: true }, today)?.refusal).toMatch(/no third/);
  });

  it("is a matter of the table: one without it grants none, and one that grants it has a tightened plan in every row", () => {
    const { secondTry: _, ...without } = franceInServicePlans;
    expect(secondTry({ plan: { ...plan, table: without } }, refused, "2026-09-20")).toBeNull();
    const rows = franceInServicePlans.rows.map(({ tightened: __, ...row }) => row);
    expect(planTableSchema.safeParse({ ...franceInServicePlans, rows }).success).toBe(false);
  });
});
