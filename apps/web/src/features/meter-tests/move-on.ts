/**
 * Enter leads through the fields that still want something: those marked with data-stop, which a part of the screen
 * sets only while its field is to be filled in. Counts that stand as the plan has them are passed over; Tab still
 * reaches every field.
 */

const controls = "input:not(:disabled):not([type=hidden]), select:not(:disabled), textarea:not(:disabled)";

function stopsIn(sheet: HTMLElement): HTMLElement[] {
  return [...sheet.querySelectorAll<HTMLElement>("[data-stop]")].flatMap((marked) => {
    const control = marked.matches(controls) ? marked : marked.querySelector<HTMLElement>(controls);
    return control === null || control.closest("details:not([open])") !== null ? [] : [control];
  });
}

/** Puts the keyboard at the first field that wants something. */
export function focusFirstStop(sheet: HTMLElement): void {
  stopsIn(sheet)[0]?.focus();
}

/** Puts the keyboard at the next field after this one; from a field outside the round, at the field beside it. */
export function moveOn(sheet: HTMLElement, from: HTMLElement): void {
  const isStop = from.closest("[data-stop]") !== null;
  const round = isStop ? stopsIn(sheet) : [...sheet.querySelectorAll<HTMLElement>(controls)];
  const next = round.find(
    (control) =>
      control !== from &&
      (from.compareDocumentPosition(control) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0 &&
      !isSameGroup(control, from),
  );
  if (next === undefined) return;
  next.focus();
  if (next instanceof HTMLInputElement && next.type === "text") next.select();
}

function isSameGroup(one: HTMLElement, other: HTMLElement): boolean {
  return (
    one instanceof HTMLInputElement &&
    other instanceof HTMLInputElement &&
    one.type === "radio" &&
    one.name === other.name
  );
}
