import type { StoryEvent, StoryItem } from "@sealbook/contract/meter-events";
import { describe, expect, it } from "vitest";
import { storySentence } from "./story-sentence.ts";

const how = { dials: 5, dateOf: (instant: string) => instant.slice(0, 10) };
const ines = { id: "1", name: "Ines" };

const event = (over: Partial<StoryEvent>): StoryEvent => ({
  ...{
    kind: "event",
    id: "1",
    at: "2026-03-02T15:00:00Z",
    event: "stock",
    recordedAt: "2026-03-02T15:00:00Z",
  },
  ...{ by: ines, place: null, servicePoint: null, registerReading: null, readingNote: null },
  ...{ sealsOn: [], sealsOff: [], reason: "", move: null, takesBack: null, takenBackBy: null, entryId: "1" },
  ...over,
});

const test = (over: Partial<StoryItem & { kind: "test" }>): StoryItem => ({
  ...{ kind: "test", id: "1", at: "2026-03-02T15:00:00Z", outcome: "tested", reasons: ["periodic"] },
  ...{
    asFound: "pass",
    asLeft: "pass",
    by: ines,
    sealsOn: [],
    sealsOff: [],
    registerReading: null,
    entryId: "1",
  },
  registrations: { fullLoad: "99.8", lightLoad: "99.45", average: "99.73" },
  averageAsLeft: "99.73",
  ...over,
});

describe("a meter's story says", () => {
  it("where it was set, by whom, with what reading", () => {
    const servicePoint = {
      ...{ id: "p", number: "SP-7", address: "12 Larch Lane", area: "North", jurisdiction: "us-nc" },
    };
    expect(storySentence(event({ event: "set", servicePoint, registerReading: "12" }), how)).toBe(
      "Set at 12 Larch Lane (service point SP-7) by Ines, reading 00012.",
    );
  });

  it("how it was removed, with rollover and seals", () => {
    const place = { id: "v", kind: "van" as const, name: "Van 4" };
    const removed = event({
      event: "remove",
      place,
      registerReading: "15.5",
      readingNote: "rolled-over",
      sealsOff: ["A", "B"],
    });
    expect(storySentence(removed, how)).toBe(
      "Removed and taken to Van 4 by Ines, reading 00015.5 (rolled over). Seals A, B taken off.",
    );
    expect(storySentence(event({ event: "remove", place, readingNote: "not-readable" }), how)).toBe(
      "Removed and taken to Van 4 by Ines, the register could not be read.",
    );
  });

  it("what a test found, and left where something was adjusted", () => {
    expect(storySentence(test({}), how)).toBe(
      "Tested by Ines, as found full load 99.80 %, light load 99.45 %, average 99.73 %, within limits.",
    );
    const adjusted = test({ asFound: "fail", averageAsLeft: "100.01", sealsOn: ["C"] });
    expect(storySentence(adjusted, how)).toBe(
      "Tested by Ines, as found full load 99.80 %, light load 99.45 %, average 99.73 %, outside limits; as left average 100.01 %, within limits. Seal C put on.",
    );
    expect(storySentence(test({ outcome: "no-test-possible" }), how)).toBe(
      "No test was possible, says Ines.",
    );
  });

  it("what was taken back, and who held the meter and why", () => {
    const takesBack = { id: "2", kind: "set" as const, at: "2026-03-01T15:00:00Z" };
    expect(storySentence(event({ event: "take-back", takesBack }), how)).toBe(
      'Took back "Set at a service point" of 2026-03-01 by Ines.',
    );
    const hold = { id: "3", at: "2026-03-01T15:00:00Z", by: ines, reason: "Complaint 88", entryId: "1" };
    expect(storySentence({ kind: "hold", ...hold }, how)).toBe(
      "Put under a legal hold by Ines: Complaint 88.",
    );
    expect(storySentence({ kind: "lift", ...hold }, how)).toBe("Legal hold lifted by Ines: Complaint 88.");
  });
});
