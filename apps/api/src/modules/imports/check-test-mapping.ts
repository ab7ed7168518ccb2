import type { TestMapping } from "@sealbook/contract/imports";
import { untestableReasons } from "@sealbook/contract/meter-tests";
import type { ProblemError } from "@sealbook/contract/problems";
import { testReasons } from "@sealbook/contract/work-items";
import { isTimeZone } from "@sealbook/metrology/calendar/instant-of-wall-time";
import { columnErrors } from "./column-errors.ts";
import { pointerStep } from "./pointer-step.ts";

/** What keeps a mapping of tests from being of use, whatever file it meets. */
export function checkTestMapping(mapping: TestMapping): ProblemError[] {
  const fields = Object.values(mapping.columns);
  const errors = columnErrors(mapping.columns);
  const refuse = (pointer: string, detail: string) => errors.push({ pointer: `/body${pointer}`, detail });
  const has = (field: string) => fields.includes(field);
  if (!has("meterNumber") && !has("serial")) {
    refuse("/columns", "Say which column holds the meter's number or its serial.");
  }
  if (has("performedAt") && (has("performedDate") || has("performedTime"))) {
    refuse("/columns", "Date and time stand in one column or in two, not in both ways.");
  } else if (!has("performedAt") && !(has("performedDate") && has("performedTime"))) {
    refuse(
      "/columns",
      "Say which column holds date and time of the test, or which two: a test is told from another by both.",
    );
  }
  if (!has("reason") && mapping.defaultReason === null) {
    refuse("/defaultReason", "Say why these meters were tested, or which column says it.");
  }
  if (!has("standard") && mapping.standardDesignation === null) {
    refuse("/standardDesignation", "Say which standard these tests leaned on, or which column says it.");
  }
  checkPoints(mapping, refuse);
  if (!isTimeZone(mapping.timeZone)) {
    refuse("/timeZone", `${mapping.timeZone} is no time zone; write one such as America/New_York.`);
  }
  const ourReasons: readonly string[] = testReasons;
  if (mapping.defaultReason !== null && !ourReasons.includes(mapping.defaultReason)) {
    refuse("/defaultReason", `${mapping.defaultReason} is no reason of ours; choose one from the list.`);
  }
  for (const [word, reason] of Object.entries(mapping.reasons)) {
    if (!ourReasons.includes(reason)) {
      refuse(`/reasons/${pointerStep(word)}`, `${reason} is no reason of ours; choose one from the list.`);
    }
  }
  const ourUntestable: readonly string[] = untestableReasons;
  for (const [word, reason] of Object.entries(mapping.noTestPossible)) {
    if (!ourUntestable.includes(reason)) {
      refuse(
        `/noTestPossible/${pointerStep(word)}`,
        `${reason} is not why no test is possible; choose from the list.`,
      );
    }
  }
  return errors;
}

function checkPoints(mapping: TestMapping, refuse: (pointer: string, detail: string) => void): void {
  const parts = new Map<string, Set<string>>();
  for (const field of Object.values(mapping.columns)) {
    const [point, part] = field.split(".");
    if (point !== undefined && part !== undefined)
      parts.set(point, (parts.get(point) ?? new Set()).add(part));
  }
  for (const [point, found] of parts) {
    if (found.has("counts") !== found.has("standardEnergy")) {
      refuse("/columns", `${point}: counts and the standard's energy belong together; map both or neither.`);
    }
    if (found.has("asFound") && found.has("counts")) {
      refuse("/columns", `${point}: map the figure or the counts, so that one of them is the record.`);
    }
    if (found.has("asLeft") && !found.has("asFound") && !found.has("counts")) {
      refuse("/columns", `${point}: as left needs as found beside it.`);
    }
  }
  if (parts.size === 0) refuse("/columns", "Say which columns hold the figures of the test points.");
}
