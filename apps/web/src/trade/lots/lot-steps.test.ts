import { describe, expect, it } from "vitest";
import { canFollowUp, rowAfterKey } from "./follow-up-keys.ts";
import { presentStep } from "./present-step.ts";
import { newSeedDraft, seedTermsOf } from "./seed-terms.ts";

const counts = { members: 420, sample: 40, done: 31, leftOut: 0, sparesUsed: 0 };

describe("the step that a lot waits for", () => {
  it("follows the states of a lot", () => {
    const at = (state: Parameters<typeof presentStep>[0]["state"], done = 31) =>
      presentStep({
        kind: "shipment",
        state,
        counts: { ...counts, done },
        openActions: 0,
        actions: [],
        secondTry: null,
      })?.number;
    expect(at("forming")).toBe(2);
    expect(at("planned")).toBe(3);
    expect(at("listed")).toBe(3);
    expect(at("drawn")).toBe(4);
    expect(at("drawn", 40)).toBe(6);
    expect(at("decided")).toBe(7);
    expect(at("approved")).toBe(8);
    expect(at("closed")).toBeUndefined();
    expect(at("withdrawn")).toBeUndefined();
  });

  it("asks for meters first, and for actions last", () => {
    const empty = { ...counts, members: 0, sample: 0, done: 0 };
    expect(
      presentStep({
        kind: "shipment",
        state: "forming",
        counts: empty,
        openActions: 0,
        actions: [],
        secondTry: null,
      })?.number,
    ).toBe(1);
    expect(
      presentStep({
        kind: "in-service",
        state: "closed",
        counts,
        openActions: 1,
        actions: ["one"],
        secondTry: null,
      })?.number,
    ).toBe(8);
  });

  it("leads a group that was not accepted over its actions to its end", () => {
    const approved = (openActions: number, actions: readonly string[]) =>
      presentStep({ kind: "in-service", state: "approved", counts, openActions, actions, secondTry: null });
    expect(approved(0, [])).toEqual({ number: 8, title: "set a corrective action" });
    expect(approved(1, ["one", "two"])).toEqual({ number: 8, title: "see to the open actions" });
    expect(approved(0, ["one", "two"])).toEqual({ number: 8, title: "close the group" });
  });

  it("offers a second try where one is granted, and waits for it once it is under way", () => {
    const refused = (secondTry: Parameters<typeof presentStep>[0]["secondTry"]) =>
      presentStep({
        kind: "in-service",
        state: "approved",
        counts,
        openActions: 0,
        actions: [],
        secondTry,
      });
    expect(refused({ lotId: null, refusal: null })?.title).toBe(
      "try it a second time, or set a corrective action",
    );
    expect(refused({ lotId: null, refusal: "Too late." })?.title).toBe("set a corrective action");
    expect(refused({ lotId: "019", refusal: "It was asked for already." })).toBeNull();
  });
});

describe("terms of the seed", () => {
  const zone = "America/New_York";

  it("asks for the source and for the announcement", () => {
    expect(seedTermsOf(newSeedDraft, zone)).toMatchObject({ error: { pointer: "/seed/source" } });
    expect(seedTermsOf({ ...newSeedDraft, source: "announced-number" }, zone)).toMatchObject({
      error: { pointer: "/seed/announcement" },
    });
    expect(
      seedTermsOf(
        { source: "announced-number", announcement: "Lottery of tonight", notBefore: "tonight" },
        zone,
      ),
    ).toMatchObject({ error: { pointer: "/seed/notBefore" } });
  });

  it("reads the instant in the shop's zone and keeps the announcement to its own source", () => {
    expect(
      seedTermsOf(
        { source: "announced-number", announcement: " Lottery of tonight ", notBefore: "2026-11-24 20:00" },
        zone,
      ),
      // New York is five hours behind UTC in November.
    ).toEqual({
      terms: {
        source: "announced-number",
        announcement: "Lottery of tonight",
        notBefore: "2026-11-25T01:00:00.000Z",
      },
    });
    expect(
      seedTermsOf({ source: "typed-dice", announcement: "left over", notBefore: "2026-11-24 20:00" }, zone),
    ).toEqual({ terms: { source: "typed-dice", announcement: null, notBefore: null } });
  });
});

describe("follow-up by keyboard", () => {
  it("moves between rows and stays within them", () => {
    expect(rowAfterKey("ArrowDown", 0, 3)).toBe(1);
    expect(rowAfterKey("j", 2, 3)).toBe(2);
    expect(rowAfterKey("ArrowUp", 0, 3)).toBe(0);
    expect(rowAfterKey("End", 0, 3)).toBe(2);
    expect(rowAfterKey("x", 0, 3)).toBeNull();
  });

  it("leaves spares and finished places alone", () => {
    expect(canFollowUp({ place: 1, state: "pulled" })).toBe(true);
    expect(canFollowUp({ place: null, state: "spare" })).toBe(false);
    expect(canFollowUp({ place: 1, state: "tested" })).toBe(false);
    expect(canFollowUp({ place: 1, state: "replaced" })).toBe(false);
  });
});
