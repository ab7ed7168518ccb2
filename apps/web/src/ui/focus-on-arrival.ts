/**
 * A ref that puts the keyboard on what answers somebody's step as it appears, where the button that was pressed went
 * away with its form; the element carries tabIndex -1. Without it the next Tab would begin at the top of the page.
 */
export function focusOnArrival(element: HTMLElement | null): void {
  element?.focus();
}
