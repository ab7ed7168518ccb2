import type { NewCalibration } from "@sealbook/contract/standards";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import type { Random } from "./random.ts";

/** The shop's four standards with three yearly calibrations each. The portable kit's last one has run out. */
export interface DemoStandard {
  id: string;
  designation: string;
  maker: string;
  model: string;
  serial: string;
  rank: "reference" | "working";
  place: string;
  calibrations: NewCalibration[];
}

const plans = [
  {
    designation: "RS-1",
    model: "PR-100",
    serial: "R-00417",
    rank: "reference",
    place: "Standards room",
    uncertainty: "0.012",
    spread: 0.008,
    lastDaysAgo: 140,
  },
  {
    designation: "WS-1",
    model: "PW-40",
    serial: "W-02291",
    rank: "working",
    place: "Bench 1",
    uncertainty: "0.04",
    spread: 0.03,
    lastDaysAgo: 95,
  },
  {
    designation: "WS-2",
    model: "PW-40",
    serial: "W-02307",
    rank: "working",
    place: "Bench 2",
    uncertainty: "0.04",
    spread: 0.03,
    lastDaysAgo: 342,
  },
  {
    designation: "WK-3",
    model: "PK-12",
    serial: "K-00086",
    rank: "working",
    place: "Van 7",
    uncertainty: "0.06",
    spread: 0.05,
    lastDaysAgo: 391,
  },
] as const;

const yearDays = 365;

/** A certificate comes back with its standard some days after the calibration; only then can tests lean on it. */
export const daysUntilRecorded = 3;

export function demoStandards(random: Random, today: string): DemoStandard[] {
  const standards = plans.map(
    (plan): DemoStandard => ({
      id: random.id(new Date(Date.parse(dateAfter(today, -1500)))),
      designation: plan.designation,
      maker: "Perrow & Lisle",
      model: plan.model,
      serial: plan.serial,
      rank: plan.rank,
      place: plan.place,
      calibrations: [],
    }),
  );
  const reference = standards[0];
  if (reference === undefined) throw new RangeError("the demo has a reference standard");
  standards.forEach((standard, index) => {
    const plan = plans[index];
    if (plan === undefined) return;
    // Each standard keeps its own small error and moves a little from year to year.
    let error = random.normal() * plan.spread;
    // Its calibrations go back one year further, for the others are compared with it.
    const first = standard.rank === "reference" ? 4 : 3;
    for (let yearsAgo = first; yearsAgo >= 0; yearsAgo--) {
      const calibratedOn = dateAfter(today, -(plan.lastDaysAgo + yearsAgo * yearDays));
      error += random.normal() * plan.spread * 0.3;
      standard.calibrations.push({
        id: random.id(new Date(Date.parse(calibratedOn) + 20 * 3_600_000)),
        calibratedOn,
        dueOn: dateAfter(calibratedOn, yearDays),
        certificateNumber:
          standard.rank === "reference"
            ? `AML-${calibratedOn.slice(0, 4)}-${random.whole(1000, 9999)}`
            : `QV-${standard.designation}-${calibratedOn.slice(0, 4)}`,
        laboratory:
          standard.rank === "reference"
            ? "Aldermarsh Metrology Laboratory"
            : "Quillmoor Valley meter shop, standards room",
        performedBy:
          standard.rank === "reference" ? "Aldermarsh Metrology Laboratory" : "Marguerite Soto-Lind",
        traceability:
          standard.rank === "reference"
            ? "Accredited laboratory; its standards trace to the national standard of electric energy"
            : "Compared with RS-1 in the standards room",
        againstStandardId: standard.rank === "reference" ? null : reference.id,
        signConvention: standard.rank === "reference" ? "error" : "registration",
        points: certifiedPoints(random, standard.rank === "reference", error, plan.spread, plan.uncertainty),
        fileId: null,
        supersedesId: null,
        amendmentReason: null,
      });
    }
  });
  return standards;
}

function certifiedPoints(
  random: Random,
  asError: boolean,
  error: number,
  spread: number,
  uncertainty: string,
): NewCalibration["points"] {
  const points: NewCalibration["points"] = [];
  for (const volts of ["120", "240"]) {
    for (const powerFactor of ["1", "0.5"]) {
      for (const amperes of ["0.25", "1.5", "2.5", "5", "15", "30", "50"]) {
        const here = error + random.normal() * spread * 0.2;
        points.push({
          amperes,
          volts,
          powerFactor,
          powerFactorSense: powerFactor === "1" ? "unity" : "lagging",
          quantity: "Wh",
          printedPercent: (asError ? here : 100 + here).toFixed(3).replace(/^-0\.000$/, "0.000"),
          expandedUncertaintyPercent: uncertainty,
          coverageFactor: "2",
        });
      }
    }
  }
  return points;
}
