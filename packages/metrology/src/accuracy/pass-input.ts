import type { JudgingRules } from "../profiles/judging-rules-for.ts";
import type { EvaluatePassInput } from "./pass-evaluation.ts";
import type {
  CertifiedPoint,
  Circuits,
  DecimalString,
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

/**
 * Everything that evaluatePass needs, put together from plan, profile, nameplate, standard and entry. The entry screen
 * and the server both call it, so that both judge by the same limits.
 *
 * A point's own limits in the plan come first; where the plan has none for the occasion, the profile's limits for the
 * point's role hold. The standard's certificate is looked up at the nominal design voltage: the volts that were
 * measured during the test are a recorded condition and stand on no certificate.
 *
 * @param occasion  whose limits hold: occasionOf(reasons) for the as-found pass, "as-left" for the as-left pass
 * @param standard  the standard's certified points and whether the bench applied its error; null while none is chosen
 */
export function passInput({
  nameplate,
  points,
  rules,
  standard,
  occasion,
  entry,
}: {
  nameplate: Nameplate;
  points: readonly PlanPoint[];
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
    standard: standard === null ? null : { ...standard, outsideCertifiedRange: rules.outsideCertifiedRange },
    volts: nameplate.designVolts,
    testAmperes: nameplate.testAmperes,
    entry,
  };
}

function withLimits(point: PlanPoint, rules: JudgingRules, occasion: Occasion): PlanPoint {
  if (point.limits[occasion] !== undefined) {
    return point;
  }
  const found = rules.pointLimits.find((limit) => limit.role === point.role && limit.occasion === occasion);
  return found === undefined ? point : { ...point, limits: { ...point.limits, [occasion]: found.limits } };
}
