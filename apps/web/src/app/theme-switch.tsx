import { useState } from "react";
import { keptTheme, setTheme, type Theme, themes } from "./theme.ts";

const names: Record<Theme, string> = {
  system: "As the system",
  light: "Light",
  dark: "Dark",
};

/** Light, dark, or as the system says; kept in this browser. */
export function ThemeSwitch() {
  const [theme, setShown] = useState(keptTheme);
  return (
    <select
      className="theme-switch"
      aria-label="Colours"
      title="Colours"
      value={theme}
      onChange={(event) => {
        const chosen = themes.find((one) => one === event.target.value) ?? "system";
        setTheme(chosen);
        setShown(chosen);
      }}
    >
      {themes.map((one) => (
        <option key={one} value={one}>
          {names[one]}
        </option>
      ))}
    </select>
  );
}
