import type { z } from "zod";

/**
 * What a person is told about a field that the contract refuses. The contract's own messages read on after the
 * field's name ("must be a decimal number such as 7.2"); the rest are put into the same words.
 */
export function sentenceOfIssue(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case "invalid_type":
      return "This is needed.";
    case "invalid_value":
      return "Choose one of the values offered.";
    case "invalid_union":
      return "This part is not complete.";
    case "too_small":
      return issue.message.startsWith("Too small")
        ? tooSmall(issue.origin, String(issue.minimum))
        : sentence(issue.message);
    case "too_big":
      return issue.origin === "string"
        ? `At most ${String(issue.maximum)} characters.`
        : `At most ${String(issue.maximum)}${issue.origin === "array" ? " entries" : ""}.`;
    case "invalid_format":
      if (issue.format === "date") return "Write a date such as 2026-03-02.";
      if (issue.message === "must be a UUID of version 7") return "Choose one.";
      if (issue.format === "datetime") return "Write a date and time such as 2026-03-02 14:05.";
      return sentence(issue.message);
    case "unrecognized_keys":
      return `Not known here: ${issue.keys.join(", ")}.`;
    default:
      return sentence(issue.message);
  }
}

function tooSmall(origin: string, minimum: string): string {
  if (origin === "array")
    return minimum === "1" ? "At least one is needed." : `At least ${minimum} are needed.`;
  if (origin === "string") return minimum === "1" ? "This is needed." : `At least ${minimum} characters.`;
  return `At least ${minimum}.`;
}

function sentence(message: string): string {
  if (message === "must not be empty") return "This is needed.";
  const text = message.charAt(0).toUpperCase() + message.slice(1);
  return text.endsWith(".") ? text : `${text}.`;
}
