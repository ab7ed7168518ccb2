import type { Occasion, RegistrationLimits } from "../accuracy/test-terms.ts";
import type { RuleProfile } from "./profile-schema.ts";

/** What a limit of a profile holds for: the average or the point of a role. */
export type LimitedThing = RuleProfile["limits"][number]["of"];

/**
 * Limits of a profile on one occasion for meters of one accuracy class. A limit for the class goes before one for
 * every class.
 *
 * @param profile        the rule profile
 * @param occasion       why the limits apply
 * @param accuracyClass  of the meter, as its type names it: "0.5", "B"
 * @returns limits by what they hold for; what the profile does not limit is absent
 * @source the profile's own citations
 * @example limitsFor(northCarolina, "in-service", "0.5").average // 98 to 102
 */
export function limitsFor(
  profile: RuleProfile,
  occasion: Occasion,
  accuracyClass: string,
): Partial<Record<LimitedThing, RegistrationLimits>> {
  const found: Partial<Record<LimitedThing, RegistrationLimits>> = {};
  for (const wanted of [null, accuracyClass]) {
    for (const rule of profile.limits) {
      if (rule.accuracyClass === wanted && rule.occasions.includes(occasion)) {
        found[rule.of] = rule.limits;
      }
    }
  }
  return found;
}
