/**
 * Enter leads through the fields that still want something. A part of the screen marks each of its fields with
 * data-stop: "open" while Enter is to stop there, "done" once it is answered. Counts that stand as the plan has them
 * are passed over; Tab still reaches every field.
 */

const controls = "input:not(:disabled):not([type=hidden]), select:not(:disabled), textarea:not(:disabled)";

/** The mark of a field: whether Enter stops there. */
export function stop(isOpen: boolean): "open" | "done" {
  return isOpen ? "open" : "done";
}

function openStops(sheet: HTMLElement): HTMLElement[] {
  return [...sheet.querySelectorAll<HTMLElement>('[data-stop="open"]')].flatMap((marked) => {
    const control = marked.matches(controls) ? marked : marked.querySelector<HTMLElement>(controls);
    return control === null || control.closest("details:not([open])") !== null ? [] : [control];
  });
}

/** Puts the keyboard at the first field that is still empty. */
export function focusFirstOpen(sheet: HTMLElement): void {
  openStops(sheet)
    .find((control) => !(control instanceof HTMLInputElement && isText(control) && control.value !== ""))
    ?.focus();
}

/** Puts the keyboard at the next field after this one; from a field outside the round, at the field beside it. */
export function moveOn(sheet: HTMLElement, from: HTMLElement): void {
  const own = from.closest("[data-stop]");
  const round = own === null ? [...sheet.querySelectorAll<HTMLElement>(controls)] : openStops(sheet);
  const next = round.find(
    (control) =>
      control !== from &&
      (own === null || !own.contains(control)) &&
      (from.compareDocumentPosition(control) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0,
  );
  if (next === undefined) return;
  next.focus();
  if (next instanceof HTMLInputElement && isText(next)) next.select();
}

function isText(input: HTMLInputElement): boolean {
  return input.type === "text" || input.type === "password";
}
