import { evaluatePass } from "@sealbook/metrology/accuracy/evaluate-pass";
import { passInput } from "@sealbook/metrology/accuracy/pass-input";
import type {
  DemandBasis,
  DemandReading,
  Occasion,
  PlanPoint,
} from "@sealbook/metrology/accuracy/test-terms";
import { judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";

/** Percent registrations of a meter by load, as a bench displayed them, and what was seen of it. */
export interface Found {
  fl?: string;
  ll?: string;
  pf?: string;
  creep?: "none" | "creeps";
  starts?: boolean;
  demand?: { basis: DemandBasis; reading: DemandReading };
}

const point = (
  key: string,
  role: PlanPoint["role"],
  powerFactor: string,
  loadPercent: string,
): PlanPoint => ({
  key,
  label: key,
  loadPercent,
  powerFactor,
  powerFactorSense: powerFactor === "1" ? "unity" : "lagging",
  quantity: "Wh",
  direction: "delivered",
  circuits: "series",
  counts: "10",
  countConstant: "Kh",
  runs: 1,
  role,
  limits: {},
});
const points = {
  fl: point("FL", "full-load", "1", "100"),
  ll: point("LL", "light-load", "1", "10"),
  pf: point("PF", "power-factor", "0.5", "100"),
};

/**
 * Judges a meter by a profile alone: a plan with just the points found, without limits of its own.
 *
 * @param average key of the profile's average that the utility has chosen
 */
export function judgedBy(
  profile: RuleProfile,
  occasion: Occasion,
  found: Found,
  {
    accuracyClass = "0.5",
    phases = 1,
    average,
  }: { accuracyClass?: string; phases?: number; average?: string } = {},
) {
  const loads = (["fl", "ll", "pf"] as const).filter((load) => found[load] !== undefined);
  const evaluation = evaluatePass(
    passInput({
      nameplate: {
        form: "2S",
        kh: "7.2",
        kt: null,
        circuitFactors: {},
        testAmperes: "30",
        designVolts: "240",
      },
      points: loads.map((load) => points[load]),
      asks: {
        creep: found.creep === undefined ? "not-asked" : "asked",
        startingLoad: found.starts === undefined ? "not-asked" : "asked",
        demand: found.demand === undefined ? null : { basis: found.demand.basis },
      },
      rules: judgingRulesFor(profile, { accuracyClass, phases }, average),
      standard: null,
      occasion,
      entry: {
        points: loads.map((load) => ({
          pointKey: points[load].key,
          runs: [{ kind: "registration" as const, registrationPercent: found[load] ?? "" }],
        })),
        creep: found.creep ?? "not-checked",
        ...(found.starts === undefined
          ? {}
          : { startingLoad: found.starts ? ("starts" as const) : ("does-not-start" as const) }),
        ...(found.demand === undefined ? {} : { demand: [found.demand.reading] }),
      },
    }),
  );
  return evaluation;
}

export const verdictBy = (...args: Parameters<typeof judgedBy>) => judgedBy(...args).verdict;
