import type { recordMeterEvent } from "@sealbook/contract/meter-events";
import type { MeterState } from "@sealbook/contract/meters";
import type { BodyOf } from "@sealbook/contract/operation";
import { type LifeEventKind, legalMoves } from "@sealbook/metrology/life-cycle/legal-moves";
import type { ReadingNote } from "@sealbook/metrology/life-cycle/reading-question";
import type { PlacedError } from "../../api/use-submission.ts";
import { numbersInText } from "../../trade/numbers-in-text.ts";
import { readLocal } from "../../trade/read-local.ts";

export type RecordedKind = Exclude<LifeEventKind, "receive">;

/** What a person does to a meter, as a form holds it. */
export interface EventForm {
  kind: RecordedKind | "";
  placeId: string;
  /** Local date and time; empty is now. */
  performedAt: string;
  registerReading: string;
  readingNote: ReadingNote | "";
  sealsOn: string;
  sealsOff: string;
  reason: string;
}

export const newEventForm: EventForm = {
  kind: "",
  placeId: "",
  performedAt: "",
  registerReading: "",
  readingNote: "",
  sealsOn: "",
  sealsOff: "",
  reason: "",
};

/** In the order of a meter's life. */
const recordedKinds = [
  "stock",
  "issue",
  "set",
  "remove",
  "return",
  "repair",
  "seal",
  "retire",
  "dispose",
] as const;

export const doNames: Record<RecordedKind, string> = {
  stock: "Put it in stock",
  issue: "Issue it",
  set: "Set it at a service point",
  remove: "Remove it",
  return: "Bring it back to the shop",
  repair: "Repair it",
  seal: "Change its seals",
  retire: "Retire it",
  dispose: "Dispose of it",
};

/** What can be done to a meter in this state. */
export function kindsFor(state: MeterState): RecordedKind[] {
  return recordedKinds.filter((kind) => legalMoves[kind].from.includes(state));
}

/** Whether the event asks for a register reading. */
export function asksReading(kind: RecordedKind | ""): boolean {
  return kind === "set" || kind === "remove";
}

/** The body to send, or what is wrong and where. */
export function eventBody(
  form: EventForm,
  id: string,
  timeZone: string,
): { body: BodyOf<typeof recordMeterEvent> } | { errors: PlacedError[] } {
  if (form.kind === "") return { errors: [{ pointer: "/kind", detail: "Say what happened." }] };
  const at = form.performedAt.trim() === "" ? null : readLocal(form.performedAt, timeZone);
  if (at?.kind === "none") return { errors: [{ pointer: "/performedAt", detail: at.detail }] };
  const leads = legalMoves[form.kind].places.length > 0;
  if (leads && form.placeId === "")
    return { errors: [{ pointer: "/placeId", detail: "Choose where it leads." }] };
  return {
    body: {
      id,
      kind: form.kind,
      performedAt: at?.instant ?? null,
      placeId: leads ? form.placeId : null,
      registerReading: form.registerReading.trim() === "" ? null : form.registerReading.trim(),
      readingNote: form.readingNote === "" ? null : form.readingNote,
      sealsOn: numbersInText(form.sealsOn),
      sealsOff: numbersInText(form.sealsOff),
      reason: form.reason.trim(),
    },
  };
}
