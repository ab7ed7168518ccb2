import type { DrawEvent } from "@sealbook/contract/follow-up";
import { describe, expect, it } from "vitest";
import { canTakeBack } from "./can-take-back.ts";
import { shownEvents } from "./shown-events.ts";

const event = (id: string, kind: DrawEvent["kind"], isTakenBack = false): DrawEvent => ({
  id,
  kind,
  reason: null,
  note: "",
  at: "2026-11-25T10:00:00.000Z",
  by: null,
  takenBack: isTakenBack
    ? { reason: "Meant for another meter", at: "2026-11-25T11:00:00.000Z", by: null }
    : null,
});

describe("follow-ups that were taken back", () => {
  const asked = event("a", "asked");
  const missed = event("b", "not-reached", true);
  const pulled = event("c", "pulled");

  it("are shown beside the last one that stands", () => {
    expect(shownEvents([asked, missed, pulled])).toEqual([missed, pulled]);
    expect(shownEvents([asked, missed])).toEqual([asked, missed]);
    expect(shownEvents([missed])).toEqual([missed]);
    expect(shownEvents([])).toEqual([]);
  });

  it("leave the last standing one to be taken back, and a called-up spare never by itself", () => {
    const unit = { events: [asked, missed, pulled] };
    expect(canTakeBack(unit, pulled)).toBe(true);
    expect(canTakeBack(unit, asked)).toBe(false);
    expect(canTakeBack(unit, missed)).toBe(false);
    const calledUp = event("d", "called-up");
    expect(canTakeBack({ events: [calledUp] }, calledUp)).toBe(false);
    expect(canTakeBack({ events: [calledUp, asked] }, asked)).toBe(true);
  });
});
