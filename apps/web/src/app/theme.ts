export const themes = ["system", "light", "dark"] as const;
export type Theme = (typeof themes)[number];

const storageKey = "sealbook.theme";

/** The theme that this browser keeps; the system's own where nothing is kept or storage is closed. */
export function keptTheme(): Theme {
  try {
    const kept = localStorage.getItem(storageKey);
    return themes.find((theme) => theme === kept) ?? "system";
  } catch {
    return "system";
  }
}

/** Shows a theme and keeps it for the next visit. */
export function setTheme(theme: Theme): void {
  showTheme(theme);
  try {
    localStorage.setItem(storageKey, theme);
  } catch {
    // Without storage the choice lasts as long as the page.
  }
}

/** Shows a theme without keeping it. */
export function showTheme(theme: Theme): void {
  if (theme === "system") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = theme;
}
