import { useState } from "react";
import { keptTheme, setTheme, type Theme, themes } from "./theme.ts";

const names: Record<Theme, string> = {
  system: "Colours: as the system",
  light: "Colours: light",
  dark: "Colours: dark",
};

/** Light, dark, or as the system says; kept in this browser. */
export function ThemeSwitch() {
  const [theme, setShown] = useState(keptTheme);
  return (
    <select
      className="theme-switch"
      aria-label="Light or dark"
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
