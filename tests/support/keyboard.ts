import type { Page } from "playwright-core";

/** What has the focus, as a screen reader would name it. */
export async function focusedName(page: Page): Promise<string> {
  return await page.evaluate(() => {
    const element = document.activeElement;
    if (element === null) return "";
    const label =
      element instanceof HTMLInputElement ||
      element instanceof HTMLSelectElement ||
      element instanceof HTMLTextAreaElement
        ? element.labels?.[0]?.innerText
        : undefined;
    return (element.getAttribute("aria-label") ?? label ?? (element as HTMLElement).innerText ?? "").trim();
  });
}

/**
 * Walks by Tab to the field or button whose name begins so.
 * @throws Error that lists where the keyboard went, when it never came there
 */
export async function tabTo(page: Page, name: string): Promise<void> {
  const seen: string[] = [];
  for (let step = 0; step < 120; step++) {
    const focused = await focusedName(page);
    if (focused.startsWith(name)) return;
    seen.push(focused.slice(0, 40));
    await page.keyboard.press("Tab");
  }
  throw new Error(`the keyboard never came to "${name}"; it went: ${seen.join(" | ")}`);
}

/** Types words and presses keys, in order; a key is written as "Enter" or "Control+Enter" within brackets: ["Enter"]. */
export async function typeKeys(page: Page, ...keys: (string | [string])[]): Promise<void> {
  for (const key of keys) {
    if (typeof key === "string") await page.keyboard.type(key);
    else await page.keyboard.press(key[0]);
  }
}
