import { useEffect, useRef } from "react";

const typingElements = new Set(["INPUT", "SELECT", "TEXTAREA"]);

/**
 * Runs an action on a key, anywhere on the page.
 *
 * @param key     as in KeyboardEvent.key: "/", "Enter", "F2"; with "Control+" or "Alt+" before it where needed.
 *                A key without either is left alone while somebody types in a field.
 * @param action  what to do; the key's own effect is prevented
 */
export function useHotkey(key: string, action: () => void): void {
  const latest = useRef(action);
  useEffect(() => {
    latest.current = action;
  });
  useEffect(() => {
    const wantsControl = key.startsWith("Control+");
    const wantsAlt = key.startsWith("Alt+");
    const plainKey = key.replace(/^(Control|Alt)\+/, "");
    const handle = (event: KeyboardEvent) => {
      if (!isKey(event, plainKey) || event.metaKey) return;
      if (event.ctrlKey !== wantsControl || event.altKey !== wantsAlt) return;
      const target = event.target;
      const isTyping =
        target instanceof HTMLElement && (typingElements.has(target.tagName) || target.isContentEditable);
      const isFunctionKey = /^F\d+$/.test(plainKey);
      if (isTyping && !wantsControl && !wantsAlt && !isFunctionKey) return;
      event.preventDefault();
      latest.current();
    };
    window.addEventListener("keydown", handle);
    return () => window.removeEventListener("keydown", handle);
  }, [key]);
}

/**
 * Whether the key was pressed. A letter held with Alt or Control counts in either case, for Caps Lock; where Alt makes
 * it type another sign, as Option does, its place on the keyboard counts.
 */
function isKey(event: KeyboardEvent, key: string): boolean {
  if (event.key === key) return true;
  if (!/^[a-z]$/.test(key) || !(event.altKey || event.ctrlKey)) return false;
  return /^[a-z]$/i.test(event.key)
    ? event.key.toLowerCase() === key
    : event.code === `Key${key.toUpperCase()}`;
}
