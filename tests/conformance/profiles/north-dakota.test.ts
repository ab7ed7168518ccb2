import { northDakota } from "@sealbook/metrology/profiles/places/north-dakota";
import { describe, expect, it } from "vitest";
import { judgedBy } from "./judged-by.ts";

// N.D. Admin. Code 69-09-02-27 (casetext.com, current through October 2024).

describe("determination of the average meter error", () => {
  it("2, single-phase: (LL + 4 HL) / 5; 103 and 100.5 are (103 + 402) / 5 = 101", () => {
    const { average } = judgedBy(northDakota, "in-service", { fl: "100.5", ll: "103" });
    expect(average?.registrationPercent).toBe("101");
  });
  it("3, polyphase: (LL + 4 HL + 2 PF) / 7; 103, 100.5 and 101 are (103 + 402 + 202) / 7 = 101", () => {
    const { average } = judgedBy(
      northDakota,
      "in-service",
      { fl: "100.5", ll: "103", pf: "101" },
      { phases: 3 },
    );
    expect(average?.registrationPercent).toBe("101");
  });
  it("3, polyphase without the power-factor load makes no average", () => {
    const { average } = judgedBy(northDakota, "in-service", { fl: "100.5", ll: "103" }, { phases: 3 });
    expect(average).toMatchObject({ registrationPercent: null, missingRoles: ["power-factor"] });
  });
  it("1, a constant load is its own average", () => {
    expect(northDakota.constantLoad?.source).toBe("N.D. Admin. Code 69-09-02-27, 1");
  });
  it("which error is acceptable stands elsewhere: nothing is judged", () => {
    const evaluated = judgedBy(northDakota, "in-service", { fl: "110", ll: "110" });
    expect(evaluated.average?.verdict).toBe("not-judged");
    expect(evaluated.verdict).not.toBe("fail");
  });
});
