import { describe, expect, it } from "vitest";
import { checkCertificate } from "./check-certificate.ts";

const point = (over: Record<string, string> = {}) => ({
  amperes: "2.5",
  volts: "120",
  powerFactor: "1",
  powerFactorSense: "unity" as const,
  quantity: "Wh" as const,
  printedPercent: "100.02",
  expandedUncertaintyPercent: "0.02",
  coverageFactor: "2",
  ...over,
});

const pointers = (checked: ReturnType<typeof checkCertificate>) =>
  checked.kind === "refused" ? checked.errors.map(({ pointer }) => pointer) : "taken";

describe("a certificate's points", () => {
  it("are taken in each sign convention", () => {
    // By hand: 100 + e and 100 - c.
    const registrationOf = (
      signConvention: "registration" | "error" | "correction",
      printedPercent: string,
    ) => {
      const checked = checkCertificate({ signConvention, points: [point({ printedPercent })] });
      return checked.kind === "points" ? checked.points[0]?.registrationPercent : "refused";
    };
    expect(registrationOf("registration", "100.02")).toBe("100.02");
    expect(registrationOf("error", "-0.02")).toBe("99.98");
    expect(registrationOf("correction", "-0.02")).toBe("100.02");
  });

  it("are refused when the convention makes them implausible", () => {
    expect(
      pointers(
        checkCertificate({ signConvention: "registration", points: [point({ printedPercent: "0.02" })] }),
      ),
    ).toEqual(["/points/0/printedPercent"]);
    expect(pointers(checkCertificate({ signConvention: "error", points: [point()] }))).toEqual([
      "/points/0/printedPercent",
    ]);
    expect(
      pointers(
        checkCertificate({ signConvention: "registration", points: [point({ printedPercent: "90" })] }),
      ),
    ).toBe("taken");
    expect(
      pointers(
        checkCertificate({ signConvention: "registration", points: [point({ printedPercent: "110" })] }),
      ),
    ).toBe("taken");
  });

  it("stand at one load once, however its numbers are written", () => {
    const twice = [point(), point({ amperes: "2.50", volts: "120.0", powerFactor: "1.0" })];
    expect(pointers(checkCertificate({ signConvention: "registration", points: twice }))).toEqual([
      "/points/1",
    ]);
    const apart = [point(), point({ volts: "240" }), point({ quantity: "VAh" })];
    expect(pointers(checkCertificate({ signConvention: "registration", points: apart }))).toBe("taken");
  });

  it("name a power factor that fits its sense", () => {
    const bad = [point({ powerFactor: "0.5" }), point({ amperes: "1", powerFactorSense: "lagging" })];
    expect(pointers(checkCertificate({ signConvention: "registration", points: bad }))).toEqual([
      "/points/0/powerFactorSense",
      "/points/1/powerFactorSense",
    ]);
  });
});
