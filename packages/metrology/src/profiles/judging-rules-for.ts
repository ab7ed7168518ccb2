import type { AverageRole } from "../accuracy/average-registration.ts";
import type {
  AverageRule,
  DecisionRule,
  DemandLimits,
  Occasion,
  RegistrationLimits,
  StartingLoadRule,
} from "../accuracy/test-terms.ts";
import { limitsFor } from "./limits-for.ts";
import type { RuleProfile } from "./profile-schema.ts";

/** What a profile says about judging the tests of one type of meter. */
export interface JudgingRules {
  /** Null where the profile gives no way to make an average. */
  average: AverageRule | null;
  averageLimits: Partial<Record<Occasion, RegistrationLimits>>;
  pointLimits: { role: AverageRole; occasion: Occasion; limits: RegistrationLimits }[];
  decisionRule: DecisionRule;
  /** True when the profile does not judge creep. */
  creepAllowed: boolean;
  creepSource: string;
  /** Starting currents of the meter's class; an occasion that is absent has no rule. */
  startingLoad: Partial<Record<Occasion, StartingLoadRule>>;
  demandLimits: { occasion: Occasion; limits: DemandLimits }[];
  outsideCertifiedRange: "refuse" | "take-uncorrected";
}

const occasions: readonly Occasion[] = ["new", "in-service", "as-left", "request"];
const roles: readonly AverageRole[] = ["full-load", "light-load", "power-factor"];

/**
 * Resolves a profile for one type of meter.
 *
 * @param profile  the rule profile
 * @param meter    accuracy class and phases of the type; the average may depend on the phases
 * @param average  key of the average that the utility has chosen; without it, the first that fits the phases
 * @throws RangeError if the chosen average is not in the profile or does not fit the phases
 * @source the profile's own citations
 * @example judgingRulesFor(northDakota, { accuracyClass: "0.5", phases: 3 }).average?.label // "(LL + 4 HL + 2 PF) / 7"
 */
export function judgingRulesFor(
  profile: RuleProfile,
  meter: { accuracyClass: string; phases: number },
  average?: string,
): JudgingRules {
  const averageLimits: JudgingRules["averageLimits"] = {};
  const pointLimits: JudgingRules["pointLimits"] = [];
  for (const occasion of occasions) {
    const limits = limitsFor(profile, occasion, meter.accuracyClass);
    if (limits.average !== undefined) {
      averageLimits[occasion] = limits.average;
    }
    for (const role of roles) {
      const ofRole = limits[role];
      if (ofRole !== undefined) {
        pointLimits.push({ role, occasion, limits: ofRole });
      }
    }
  }
  return {
    average: averageOf(profile, meter.phases, average),
    averageLimits,
    pointLimits,
    decisionRule: profile.decisionRule,
    creepAllowed: profile.creep === null,
    creepSource: profile.creep?.source ?? "The text read says nothing of creep.",
    startingLoad: startingLoadOf(profile, meter.accuracyClass),
    demandLimits: (profile.demand ?? []).flatMap(({ occasions: heldOn, appliesTo: _, ...limits }) =>
      heldOn.map((occasion) => ({ occasion, limits })),
    ),
    outsideCertifiedRange: profile.outsideCertifiedRange.policy,
  };
}

function startingLoadOf(profile: RuleProfile, accuracyClass: string): JudgingRules["startingLoad"] {
  const rule = profile.startingLoad;
  const currents = (rule?.currents ?? []).flatMap(({ accuracyClass: held, ...current }) =>
    held === accuracyClass ? [current] : [],
  );
  return rule === undefined || currents.length === 0
    ? {}
    : Object.fromEntries(rule.occasions.map((occasion) => [occasion, { currents, source: rule.source }]));
}

function averageOf(profile: RuleProfile, phases: number, chosen: string | undefined): AverageRule | null {
  const kind = phases === 1 ? "single-phase" : "polyphase";
  const fitting = profile.averages.filter((entry) => entry.phases === "any" || entry.phases === kind);
  if (chosen === undefined) {
    return fitting[0]?.rule ?? null;
  }
  const found = fitting.find(({ key }) => key === chosen);
  if (found === undefined) {
    throw new RangeError(`profile ${profile.key} has no average ${chosen} for ${kind} meters`);
  }
  return found.rule;
}
