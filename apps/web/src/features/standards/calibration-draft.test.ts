import { describe, expect, it } from "vitest";
import { blankCalibration, calibrationBody, nextPoint, registrationOf } from "./calibration-draft.ts";

describe("a calibration as it is typed from its certificate", () => {
  // By the definitions of JCGM 200:2012: error is indicated minus true (2.16), correction has the other sign (2.53).
  it("shows what a printed figure makes the standard register, by the certificate's own convention", () => {
    expect(registrationOf("100.021", "registration")).toBe("100.021");
    expect(registrationOf("-0.021", "error")).toBe("99.979");
    expect(registrationOf("-0.021", "correction")).toBe("100.021");
  });

  it("shows nothing while the convention is not chosen or the figure is no number", () => {
    expect(registrationOf("0.02", "")).toBeNull();
    expect(registrationOf("0,02", "error")).toBeNull();
    expect(registrationOf("", "error")).toBeNull();
  });

  it("begins a further line with the load of the line before and no figure", () => {
    const [first] = blankCalibration("a").points;
    if (first === undefined) throw new Error("a blank calibration has a line");
    const typed = {
      ...first,
      amperes: "5",
      volts: "120",
      printedPercent: "0.01",
      expandedUncertaintyPercent: "0.03",
    };
    expect(nextPoint([typed], "b")).toEqual({ ...typed, lineId: "b", amperes: "", printedPercent: "" });
  });

  it("sends a reason with a record that corrects another, and none with a first one", () => {
    const draft = { ...blankCalibration("a"), amendmentReason: " Wrong line copied " };
    expect(calibrationBody(draft, "id", null).amendmentReason).toBeNull();
    expect(calibrationBody(draft, "id", "old").amendmentReason).toBe("Wrong line copied");
    expect(calibrationBody(draft, "id", null).points[0]).not.toHaveProperty("lineId");
  });
});
