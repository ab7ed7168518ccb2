import { sentenceOfIssue } from "@sealbook/contract/sentence-of-issue";
import { type RuleProfile, ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import { ProblemError, refusedByRule } from "../../platform/problem-error.ts";

const mostErrors = 50;

/**
 * Reads a rule profile that somebody hands in.
 *
 * @param text the profile as JSON
 * @throws ProblemError refused-by-rule, with a pointer below /document for every field that cannot be used
 */
export function readDocument(text: string): RuleProfile {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw refusedByRule("/document", `This is not JSON: ${(error as Error).message}.`);
  }
  const parsed = ruleProfileSchema.safeParse(value);
  if (parsed.success) return parsed.data;
  const issues = parsed.error.issues.slice(0, mostErrors);
  const more = parsed.error.issues.length - issues.length;
  throw new ProblemError(
    "refused-by-rule",
    more === 0
      ? "Some fields of the profile cannot be used; each is named below."
      : `Some fields of the profile cannot be used; the first ${mostErrors} are named below, and there are ${more} more.`,
    {
      errors: issues.map((issue) => ({
        pointer: ["/document", ...issue.path.map(String)].join("/"),
        detail: sentenceOfIssue(issue),
      })),
    },
  );
}
