import { type RuleProfile, ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";

/** A stored profile's body as data; null where its form is not one that this client knows. */
export function readProfile(body: string): RuleProfile | null {
  try {
    return ruleProfileSchema.safeParse(JSON.parse(body)).data ?? null;
  } catch {
    return null;
  }
}
