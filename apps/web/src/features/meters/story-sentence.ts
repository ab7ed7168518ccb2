import type { StoryEvent, StoryItem } from "@sealbook/contract/meter-events";
import { meterEventNames, verdictNames } from "@sealbook/contract/meters";
import { formatDecimal, parseDecimal } from "@sealbook/metrology/decimal";
import { placeName } from "../../trade/place-name.ts";

/**
 * What happened, as a sentence: "Set at 12 Larch Lane (service point SP-7) by Ines Marlow, reading 00012."
 *
 * @param item  a thing in a meter's story
 * @param how.dials  dials of the register, to which a reading is written out
 * @param how.dateOf  the shop's local date of an instant
 */
export function storySentence(
  item: StoryItem,
  { dials, dateOf }: { dials: number; dateOf: (instant: string) => string },
): string {
  switch (item.kind) {
    case "event":
      return `${eventPart(item, dateOf)}${by(item.by)}${readingPart(item, dials)}.${sealPart(item)}`;
    case "test":
      return `${testPart(item)}${item.registerReading === null ? "" : `, reading ${writtenOut(item.registerReading, dials)}`}.${sealPart(item)}`;
    case "hold":
      return `Put under a legal hold${by(item.by)}: ${withStop(item.reason)}`;
    case "lift":
      return `Legal hold lifted${by(item.by)}: ${withStop(item.reason)}`;
  }
}

function eventPart(item: StoryEvent, dateOf: (instant: string) => string): string {
  const at = whereabouts(item);
  switch (item.event) {
    case "receive":
      return `Received${at === null ? "" : ` at ${at}`}`;
    case "stock":
      return `Put in stock${at === null ? "" : ` at ${at}`}`;
    case "issue":
      return `Issued${at === null ? "" : ` to ${at}`}`;
    case "set":
      return `Set${at === null ? "" : ` at ${at}`}`;
    case "remove":
      return `Removed${at === null ? "" : ` and taken to ${at}`}`;
    case "return":
      return `Brought back${at === null ? "" : ` to ${at}`}`;
    case "repair":
      return "Repaired";
    case "seal":
      return "Seals changed";
    case "retire":
      return `Retired${at === null ? "" : ` at ${at}`}`;
    case "dispose":
      return "Disposed of";
    case "take-back":
      return item.takesBack === null
        ? "Took an event back"
        : `Took back "${meterEventNames[item.takesBack.kind]}" of ${dateOf(item.takesBack.at)}`;
  }
}

function whereabouts({ place, servicePoint }: StoryEvent): string | null {
  if (servicePoint !== null) return `${servicePoint.address} (service point ${servicePoint.number})`;
  return place === null ? null : placeName(place);
}

function testPart(item: StoryItem & { kind: "test" }): string {
  const who = by(item.by);
  if (item.outcome === "no-test-possible")
    return item.by === null ? "No test was possible" : `No test was possible, says ${item.by.name}`;
  const { fullLoad, lightLoad, average } = item.registrations;
  const figures = [
    fullLoad === null ? null : `full load ${percent(fullLoad)}`,
    lightLoad === null ? null : `light load ${percent(lightLoad)}`,
    average === null ? null : `average ${percent(average)}`,
    verdictNames[item.asFound].toLowerCase(),
  ].filter((figure) => figure !== null);
  // What was not adjusted is left as it was found.
  const isSame = item.asLeft === item.asFound && item.averageAsLeft === average;
  const left =
    item.asLeft === null || isSame
      ? ""
      : `; as left ${item.averageAsLeft === null ? "" : `average ${percent(item.averageAsLeft)}, `}${verdictNames[item.asLeft].toLowerCase()}`;
  return `Tested${who}, as found ${figures.join(", ")}${left}`;
}

/** Rounded half away from zero for reading; the test itself shows every digit. */
function percent(value: string): string {
  const read = parseDecimal(value);
  return `${read.kind === "decimal" ? formatDecimal(read.value, 2) : value} %`;
}

function by(person: { name: string } | null): string {
  return person === null ? "" : ` by ${person.name}`;
}

function readingPart({ registerReading, readingNote }: StoryEvent, dials: number): string {
  if (registerReading === null)
    return readingNote === "not-readable" ? ", the register could not be read" : "";
  const note =
    readingNote === "rolled-over"
      ? " (rolled over)"
      : readingNote === "register-replaced"
        ? " (register replaced)"
        : "";
  return `, reading ${writtenOut(registerReading, dials)}${note}`;
}

/** A reading as the register shows it: as many digits before the point as it has dials. */
function writtenOut(reading: string, dials: number): string {
  const [whole = "", fraction] = reading.split(".");
  return `${whole.padStart(dials, "0")}${fraction === undefined ? "" : `.${fraction}`}`;
}

function sealPart({
  sealsOn,
  sealsOff,
}: {
  sealsOn: readonly string[];
  sealsOff: readonly string[];
}): string {
  const part = (numbers: readonly string[], what: string) =>
    numbers.length === 0 ? "" : ` ${numbers.length === 1 ? "Seal" : "Seals"} ${numbers.join(", ")} ${what}.`;
  return `${part(sealsOff, "taken off")}${part(sealsOn, "put on")}`;
}

function withStop(text: string): string {
  return /[.!?]$/.test(text.trim()) ? text.trim() : `${text.trim()}.`;
}
