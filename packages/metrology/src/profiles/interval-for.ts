import type { RuleProfile } from "./profile-schema.ts";

/** What an interval's selector looks at on a meter type. */
export interface IntervalSubject {
  technology: "electromechanical" | "solid-state";
  /** 1 is single-phase, 2 and 3 are polyphase. */
  phases: number;
  accuracyClass: string;
  connection: "direct" | "transformer";
}

/**
 * The interval of a profile at which meters of a type are tested: the first whose selector fits. An interval without a
 * selector is prose for people; no date is worked out from it.
 *
 * @returns months, and the rule that says so; null where no interval fits
 * @source the profile; its citations stand in `source`
 */
export function intervalFor(
  profile: Pick<RuleProfile, "intervals">,
  subject: IntervalSubject,
): { months: number; source: string } | null {
  const fits = profile.intervals.find(({ selector }) => {
    if (selector === undefined) return false;
    const { accuracyClasses, connection, phases, technology } = selector;
    return (
      (technology === undefined || technology === subject.technology) &&
      (phases === undefined || (phases === "single-phase") === (subject.phases === 1)) &&
      (accuracyClasses === undefined || accuracyClasses.includes(subject.accuracyClass)) &&
      (connection === undefined || connection === subject.connection)
    );
  });
  return fits === undefined ? null : { months: fits.months, source: fits.source };
}
