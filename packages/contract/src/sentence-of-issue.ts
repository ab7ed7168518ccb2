import type { z } from "zod";

/**
 * What a person is told about a field that the contract refuses, on the page before anything is sent and in the
 * service's replies. The contract's own messages read on after the field's name ("must be a decimal number such as
 * 7.2"); the checking library's are put into the same words.
 *
 * @param issue one issue of a failed parse
 * @returns a sentence that names no library, field or type
 */
export function sentenceOfIssue(issue: z.core.$ZodIssue): string {
  switch (issue.code) {
    case "invalid_type":
      // An issue does not carry the value: only the library's message says what stood there.
      if (/received (undefined|null)$/.test(issue.message)) return "This is needed.";
      if (issue.message.endsWith("received NaN")) return "Write a number.";
      return wrongType[issue.expected] ?? "Cannot be read.";
    case "invalid_value":
      return "Choose one of the values offered.";
    case "invalid_union":
      return issue.message.startsWith("Invalid ") ? "This part is not complete." : sentence(issue.message);
    case "too_small":
      return issue.message.startsWith("Too small")
        ? tooSmall(issue.origin, String(issue.minimum))
        : sentence(issue.message);
    case "too_big":
      return issue.message.startsWith("Too big")
        ? tooBig(issue.origin, String(issue.maximum))
        : sentence(issue.message);
    case "invalid_format":
      if (issue.format === "date") return "Write a date such as 2026-03-02.";
      if (issue.format === "datetime") return "Write a date and time such as 2026-03-02 14:05.";
      return sentence(issue.message);
    case "unrecognized_keys":
      return `Not known here: ${issue.keys.join(", ")}.`;
    default:
      return sentence(issue.message);
  }
}

const wrongType: Readonly<Record<string, string>> = {
  string: "Must be text.",
  number: "Must be a number.",
  int: "Must be a whole number.",
  boolean: "Must be true or false.",
  array: "Must be a list.",
  object: "Must be an object.",
  record: "Must be an object.",
};

function tooSmall(origin: string, minimum: string): string {
  if (origin === "array")
    return minimum === "1" ? "At least one is needed." : `At least ${minimum} are needed.`;
  if (origin === "string") return minimum === "1" ? "This is needed." : `At least ${minimum} characters.`;
  return `At least ${minimum}.`;
}

function tooBig(origin: string, maximum: string): string {
  if (origin === "string") return `At most ${maximum} characters.`;
  return `At most ${maximum}${origin === "array" ? " entries" : ""}.`;
}

function sentence(message: string): string {
  if (message === "must not be empty") return "This is needed.";
  const text = message.charAt(0).toUpperCase() + message.slice(1);
  return text.endsWith(".") ? text : `${text}.`;
}
