import type { AverageRule } from "@sealbook/metrology/accuracy/test-terms";
import type { Source } from "../../platform/transaction.ts";
import { profileDocument } from "./documents.ts";
import type { Gathered } from "./recording-terms.ts";

/** The rules that a record was judged by. */
export interface RulesOfRecord {
  jurisdiction: string;
  /** Version of the jurisdiction's profile. */
  profileId: string;
  /** How its average was made; null where it has none. */
  averageRule: AverageRule | null;
}

/**
 * What was gathered for an amendment, with the rules of the record that it amends. An amendment corrects what was
 * recorded, not the rules: a newer version of the profile, or an average that the utility has chosen since, would
 * turn the verdict on figures that nobody corrected. Only where meter or date were corrected and another jurisdiction
 * holds there is the test judged by that jurisdiction's rules of today.
 */
export async function keepRules(
  source: Source,
  gathered: Gathered,
  { jurisdiction, profileId, averageRule }: RulesOfRecord,
): Promise<Gathered> {
  const document = await profileDocument(source, profileId);
  if (document === null) throw new Error(`rule profile ${profileId} is not on record`);
  const profile = {
    id: profileId,
    document,
    effectiveFrom: null,
    ...(averageRule === null ? {} : { averageRule }),
  };
  return { ...gathered, profiles: new Map([...gathered.profiles, [jurisdiction, [profile]]]) };
}
