import type { JudgingRules } from "../profiles/judging-rules-for.ts";
import type { EvaluatePassInput } from "./pass-evaluation.ts";
import type {
  CertifiedPoint,
  Circuits,
  DecimalString,
  DemandBasis,
  DemandRule,
  Occasion,
  PassEntry,
  PlanPoint,
} from "./test-terms.ts";

/** What the nameplate says, as far as a test needs it. */
export interface Nameplate {
  form: string;
  kh: DecimalString;
  kt: DecimalString | null;
  circuitFactors: Partial<Record<Circuits, DecimalString>>;
  /** TA, A; > 0 */
  testAmperes: DecimalString;
  /** Nominal design voltage, V; > 0 */
  designVolts: DecimalString;
}

/** What a test plan asks beside its points, in the plan's own words. */
export interface PlanAsks {
  creep: "asked" | "not-asked";
  startingLoad: "asked" | "not-asked";
  /** What the error of demand is a percentage of; null when demand is not asked for. */
  demand: { basis: DemandBasis } | null;
}

/**
 * Everything that evaluatePass needs, put together from plan, profile, nameplate, standard and entry. The entry screen
 * and the server both call it, so that both judge by the same limits.
 *
 * A point's own limits in the plan come first; where the plan has none for the occasion, the profile's limits for the
 * point's role hold. The standard's certificate is looked up at the nominal design voltage: the volts that were
 * measured during the test are a recorded condition and stand on no certificate. Of the profile's
 * limits of demand, those of the plan's basis hold.
 *
 * @param occasion  whose limits hold: occasionOf(reasons) for the as-found pass, "as-left" for the as-left pass
 * @param standard  the standard's certified points and whether the bench applied its error; null while none is chosen
 */
export function passInput({
  nameplate,
  points,
  asks,
  rules,
  standard,
  occasion,
  entry,
}: {
  nameplate: Nameplate;
  points: readonly PlanPoint[];
  asks: PlanAsks;
  rules: JudgingRules;
  standard: { certifiedPoints: CertifiedPoint[]; errorAppliedByBench: boolean } | null;
  occasion: Occasion;
  entry: PassEntry;
}): EvaluatePassInput {
  return {
    meter: {
      form: nameplate.form,
      kh: nameplate.kh,
      kt: nameplate.kt,
      circuitFactors: nameplate.circuitFactors,
    },
    points: points.map((point) => withLimits(point, rules, occasion)),
    average: rules.average,
    averageLimits: rules.averageLimits[occasion] ?? null,
    decisionRule: rules.decisionRule,
    occasion,
    creepAllowed: rules.creepAllowed,
    asked: {
      creep: asks.creep === "asked",
      startingLoad:
        asks.startingLoad === "asked" ? (rules.startingLoad[occasion] ?? startingLoadOfPlan) : null,
      demand: asks.demand === null ? null : demandRule(asks.demand.basis, rules, occasion),
    },
    standard: standard === null ? null : { ...standard, outsideCertifiedRange: rules.outsideCertifiedRange },
    volts: nameplate.designVolts,
    testAmperes: nameplate.testAmperes,
    entry,
  };
}

/** Where no rule names a starting current on this occasion, the plan itself asks that the meter starts. */
const startingLoadOfPlan = { currents: [], source: "asked by the test plan" };

function demandRule(basis: DemandBasis, rules: JudgingRules, occasion: Occasion): DemandRule {
  const found = rules.demandLimits.find((rule) => rule.occasion === occasion && rule.limits.basis === basis);
  return { basis, limits: found?.limits ?? null };
}

function withLimits(point: PlanPoint, rules: JudgingRules, occasion: Occasion): PlanPoint {
  if (point.limits[occasion] !== undefined) {
    return point;
  }
  const found = rules.pointLimits.find((limit) => limit.role === point.role && limit.occasion === occasion);
  return found === undefined ? point : { ...point, limits: { ...point.limits, [occasion]: found.limits } };
}
