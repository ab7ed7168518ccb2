import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { changeLife } from "./change-life.ts";
import { type LifeEventKind, legalMoves, lifeEventKinds } from "./legal-moves.ts";
import { type LifeEvent, lifeOf } from "./life-of.ts";
import { readingQuestion } from "./reading-question.ts";
import { sealsOn } from "./seals-on.ts";

// Which step is legal when is common practice, no source; the life below is the one that the trade tells:
// received -> in stock -> issued -> in service -> removed -> in shop -> (in stock again | retired).

const event = (kind: LifeEventKind, performedAt: number, placeId: string | null = kind): LifeEvent => ({
  id: `${kind} ${performedAt}`,
  kind,
  performedAt,
  placeId,
});

const life = [
  event("receive", 1),
  event("stock", 2),
  event("issue", 3),
  event("set", 4),
  event("remove", 5),
  event("return", 6),
];

describe("a meter's life", () => {
  it("ends where its last event led, in whatever order the events are told", () => {
    expect(lifeOf(life)).toMatchObject({ state: "in-shop", placeId: "return", illegal: [] });
    expect(lifeOf([...life].reverse())).toEqual(lifeOf(life));
    expect(lifeOf([...life, event("stock", 7)]).state).toBe("in-stock");
    expect(lifeOf([...life, event("retire", 7)]).state).toBe("retired");
  });

  it("keeps the place where an event leaves the meter where it is", () => {
    expect(lifeOf([...life, event("repair", 7, null)])).toMatchObject({
      state: "in-shop",
      placeId: "return",
    });
    expect(lifeOf([...life.slice(0, 4), event("seal", 8, null)])).toMatchObject({
      state: "in-service",
      placeId: "set",
    });
  });

  it("names the step that the one before it does not allow, and goes on from what happened", () => {
    const told = lifeOf([event("receive", 1), event("remove", 2), event("return", 3)]);
    expect(told.illegal.map(({ event: { kind }, reason }) => [kind, reason])).toEqual([
      ["remove", "received; only a meter in service can be removed"],
    ]);
    expect(told.state).toBe("in-shop");
  });

  it("ends for good with disposal", () => {
    const ended = [...life, event("retire", 7), event("dispose", 8, null)];
    for (const kind of lifeEventKinds) {
      expect(changeLife(ended, { add: event(kind, 9) }).kind, kind).toBe("illegal");
    }
  });
});

describe("a change of a meter's life", () => {
  it("that goes before others is refused where it breaks one of them", () => {
    const change = changeLife(life, { add: event("retire", 2.5) });
    expect(change.kind).toBe("breaks");
    expect(change.kind === "breaks" ? change.steps.map(({ event: { kind } }) => kind) : []).toEqual([
      "issue",
    ]);
  });

  it("that takes the last event back leads to where the meter was before", () => {
    expect(changeLife(life, { takeBack: new Set(["return 6"]) })).toEqual({
      kind: "legal",
      state: "removed",
      placeId: "remove",
    });
  });

  it("is refused where others lean on what it takes back, or the meter came into the book by it", () => {
    expect(changeLife(life, { takeBack: new Set(["set 4"]) }).kind).toBe("breaks");
    expect(changeLife(life, { takeBack: new Set(["receive 1"]) }).kind).toBe("begins");
  });

  it("is not stopped by what was illegal on record before it", () => {
    const odd = [event("receive", 1), event("remove", 2)];
    expect(changeLife(odd, { add: event("return", 3) }).kind).toBe("legal");
  });

  it("of legal steps alone never leaves an illegal life", () => {
    const anyKind = fc.constantFrom(...lifeEventKinds);
    fc.assert(
      fc.property(
        fc.array(fc.tuple(anyKind, fc.integer({ min: 1, max: 30 })), { maxLength: 25 }),
        (steps) => {
          let standing: LifeEvent[] = [];
          for (const [index, [kind, at]] of steps.entries()) {
            const add = { ...event(kind, at), id: `${String(index).padStart(3, "0")}` };
            const change = changeLife(standing, { add });
            if (change.kind !== "legal") continue;
            standing = [...standing, add];
            const now = lifeOf(standing);
            expect(now.illegal).toEqual([]);
            expect(now.state).toBe(change.state);
            const last = now.events.filter((one) => legalMoves[one.kind].to !== "same").at(-1);
            expect(now.state).toBe(last === undefined ? "none" : legalMoves[last.kind].to);
          }
        },
      ),
    );
  });
});

describe("a register reading", () => {
  const ask = (over: Partial<Parameters<typeof readingQuestion>[0]>) =>
    readingQuestion({
      reading: "450",
      note: null,
      before: "12",
      after: null,
      dials: 5,
      isNeeded: true,
      ...over,
    }).kind;

  it("is asked about where it is missing, backwards or too long", () => {
    expect(ask({})).toBe("none");
    expect(ask({ reading: null })).toBe("missing");
    expect(ask({ reading: null, note: "not-readable" })).toBe("none");
    expect(ask({ reading: null, isNeeded: false })).toBe("none");
    expect(ask({ before: "450.1" })).toBe("lower");
    expect(ask({ before: "99990", note: "rolled-over" })).toBe("none");
    expect(ask({ before: "99990", note: "register-replaced" })).toBe("none");
    expect(ask({ before: "450" })).toBe("none");
    expect(ask({ after: { reading: "449", note: null } })).toBe("higher");
    expect(ask({ after: { reading: "3", note: "rolled-over" } })).toBe("none");
    expect(ask({ reading: "100000", before: null })).toBe("too-long");
    expect(ask({ reading: "000450" })).toBe("none");
  });
});

describe("seals", () => {
  it("are on until they are taken off; one that was never known to be on changes nothing", () => {
    expect(
      sealsOn([
        { sealsOn: ["A", "B"], sealsOff: ["old"] },
        { sealsOn: ["C"], sealsOff: ["A"] },
      ]),
    ).toEqual(["B", "C"]);
  });
});
