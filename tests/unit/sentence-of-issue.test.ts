import { newMeterSchema } from "@sealbook/contract/meters";
import { createPerson } from "@sealbook/contract/people";
import { sentenceOfIssue } from "@sealbook/contract/sentence-of-issue";
import { addTestPlan } from "@sealbook/contract/test-plans";
import { describe, expect, test } from "vitest";
import type { z } from "zod";

/** What is said about each field of a body, by its JSON pointer. */
function said(schema: z.ZodType | undefined, body: unknown): Record<string, string> {
  const issues = schema?.safeParse(body).error?.issues ?? [];
  return Object.fromEntries(
    issues.map((issue) => [issue.path.map((part) => `/${String(part)}`).join(""), sentenceOfIssue(issue)]),
  );
}

const everyoneReads = /^[A-Z0-9].*[.]$/;
const wordsOfTheLibrary = /invalid|expected|received|input|undefined|NaN|regex/i;

describe("what is said about a field that the contract refuses", () => {
  test("names what is missing and what is no number, in sentences a technician can act on", () => {
    const sentences = said(newMeterSchema, {
      id: "0193a8f0-5c00-7000-8000-000000000001",
      utilityNumber: "",
      serial: " 12 ",
      owner: "utility",
      typeId: "",
      firmware: "",
      program: "",
      purchasedOn: "2.3.2026",
      placeId: null,
      registerReading: "12,5",
    });
    expect(sentences["/utilityNumber"]).toBe("This is needed.");
    expect(sentences["/serial"]).toBe("Must not begin or end with a space.");
    expect(sentences["/purchasedOn"]).toBe("Write a date such as 2026-03-02.");
    expect(sentences["/registerReading"]).toBe("Must be a decimal number such as 100.04.");
    expect(sentences["/placeId"]).toBe("This is needed.");
  });

  test("says which kind of value a field takes when another kind came", () => {
    const sentences = said(createPerson.body, { id: 1, username: {}, role: "nobody", more: true });
    expect(sentences["/id"]).toBe("Must be text.");
    expect(sentences["/username"]).toBe("Must be text.");
    expect(sentences["/name"]).toBe("This is needed.");
    expect(sentences["/role"]).toBe("Choose one of the values offered.");
    expect(sentences[""]).toBe("Not known here: more.");
    expect(said(createPerson.body, [])).toEqual({ "": "Must be an object." });
  });

  test("never shows the words of the checking library", () => {
    const bodies: [z.ZodType | undefined, unknown][] = [
      [createPerson.body, { id: 1, username: "A", name: "", role: "", password: "short" }],
      [createPerson.body, {}],
      [createPerson.body, { unknown: true, name: "x".repeat(500), password: "y".repeat(500) }],
      [addTestPlan.body, { body: { points: [{ runs: Number.NaN, limits: { new: {} } }], creep: "perhaps" } }],
      [addTestPlan.body, { body: { points: [] }, revision: 1.5 }],
    ];
    for (const [schema, body] of bodies) {
      const sentences = Object.values(said(schema, body));
      expect(sentences.length).toBeGreaterThan(0);
      for (const sentence of sentences) {
        expect(sentence).toMatch(everyoneReads);
        expect(sentence).not.toMatch(wordsOfTheLibrary);
      }
    }
  });
});
