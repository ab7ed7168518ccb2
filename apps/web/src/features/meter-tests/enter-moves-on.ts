import type { KeyboardEvent } from "react";
import { moveOn } from "./move-on.ts";

/** Enter leads on to the next field to fill in; in several lines of text and on buttons it does what it always does. */
export function enterMovesOn(event: KeyboardEvent<HTMLFormElement>, sheet: HTMLFormElement): void {
  if (event.key !== "Enter" || event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented)
    return;
  const from = event.target;
  if (!(from instanceof HTMLInputElement || from instanceof HTMLSelectElement) || from.type === "file")
    return;
  event.preventDefault();
  moveOn(sheet, from);
}
