import { Fraction } from "../fraction.ts";

/** What a person says of a reading that is missing, or lower than the one before. */
export const readingNotes = ["rolled-over", "register-replaced", "not-readable"] as const;
export type ReadingNote = (typeof readingNotes)[number];

export type ReadingQuestion =
  | { kind: "none" }
  /** A set or a removal says what the register read, or that it could not be read. */
  | { kind: "missing" }
  /** Lower than a reading before it: did the register roll over, was it replaced, or is the reading wrong? */
  | { kind: "lower"; before: string }
  /** Higher than a reading after it. */
  | { kind: "higher"; after: string }
  /** More digits before the point than the register has dials. */
  | { kind: "too-long"; dials: number };

/**
 * Whether a register reading needs an answer before it can be kept. The reading at removal decides a bill, so one that
 * goes backwards is asked about and never kept in silence.
 *
 * @param input.reading   digits of the register as read, in its own unit; null where none was taken
 * @param input.note      what the person has said of it
 * @param input.before    the last reading at an earlier time; null without one
 * @param input.after     the next reading at a later time, with what was said of that; null without one
 * @param input.dials     dials of the register
 * @param input.isNeeded  whether the event asks for a reading: set and remove do
 * @source common practice, no source
 * @example readingQuestion({ reading: "12", note: null, before: "99990", after: null, dials: 5, isNeeded: true }).kind // "lower"
 */
export function readingQuestion(input: {
  reading: string | null;
  note: ReadingNote | null;
  before: string | null;
  after: { reading: string; note: ReadingNote | null } | null;
  dials: number;
  isNeeded: boolean;
}): ReadingQuestion {
  const { reading, note, before, after, dials, isNeeded } = input;
  if (reading === null) return isNeeded && note !== "not-readable" ? { kind: "missing" } : { kind: "none" };
  const whole = reading.split(".")[0]?.replace(/^0+/, "") ?? "";
  if (whole.length > dials) return { kind: "too-long", dials };
  const value = Fraction.of(reading);
  const isAnswered = note === "rolled-over" || note === "register-replaced";
  if (before !== null && !isAnswered && value.isLessThan(before)) return { kind: "lower", before };
  if (
    after !== null &&
    (after.note === null || after.note === "not-readable") &&
    value.isGreaterThan(after.reading)
  )
    return { kind: "higher", after: after.reading };
  return { kind: "none" };
}
