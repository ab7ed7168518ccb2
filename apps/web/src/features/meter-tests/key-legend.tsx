import { KeyHint } from "../../ui/key-hint.tsx";

const keys = [
  ["Enter", "next field"],
  ["Alt+P", "all confirmed"],
  ["Alt+C", "does not creep"],
  ["Alt+L", "left as found, nothing adjusted"],
  ["Alt+A", "adjusted"],
  ["Alt+N", "no test possible"],
  ["Alt+H", "how it came about"],
] as const;

/** The keys of the screen, in a line. */
export function KeyLegend() {
  return (
    <p className="key-legend quiet small">
      {keys.map(([key, meaning]) => (
        <span key={key}>
          <KeyHint keys={key} /> {meaning}
        </span>
      ))}
    </p>
  );
}
