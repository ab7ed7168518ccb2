import { describe, expect, it } from "vitest";
import { compareProfiles } from "./compare-profiles.ts";
import { northCarolina } from "./places/north-carolina.ts";
import type { RuleProfile } from "./profile-schema.ts";

const changed = (over: Partial<RuleProfile>): RuleProfile => ({ ...northCarolina, version: "99", ...over });
const version = { path: ["version"], before: northCarolina.version, after: "99" };

describe("compareProfiles", () => {
  it("finds nothing between a profile and itself", () => {
    expect(compareProfiles(northCarolina, northCarolina)).toEqual([]);
  });

  it("names a changed limit by what it limits", () => {
    const limits = northCarolina.limits.map((rule, index) =>
      index === 0 ? { ...rule, limits: { ...rule.limits, maxPercent: "101.5" } } : rule,
    );
    expect(compareProfiles(northCarolina, changed({ limits }))).toEqual([
      version,
      { path: ["limits", "average on in-service", "limits", "maxPercent"], before: "102", after: "101.5" },
    ]);
  });

  it("takes rows that only moved as the same", () => {
    expect(
      compareProfiles(
        northCarolina,
        changed({
          limits: [...northCarolina.limits].reverse(),
          citations: [...northCarolina.citations].reverse(),
          gaps: [...northCarolina.gaps].reverse(),
        }),
      ),
    ).toEqual([version]);
  });

  it("shows what is new and what is gone", () => {
    const gaps = [...northCarolina.gaps.slice(1), "Something else was not read."];
    const found = compareProfiles(
      northCarolina,
      changed({ gaps, averages: northCarolina.averages.slice(1) }),
    );
    expect(found.map(({ path, before, after }) => [path[0], before === null, after === null])).toEqual([
      ["version", false, false],
      ["averages", false, true],
      ["gaps", false, true],
      ["gaps", true, false],
    ]);
  });

  it("says plainly where a side says nothing", () => {
    const effective = { from: null, to: null };
    expect(compareProfiles(northCarolina, changed({ effective }))).toEqual([
      version,
      { path: ["effective", "from"], before: "2019-11-27", after: "not said" },
    ]);
  });
});
