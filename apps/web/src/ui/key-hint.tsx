import "./key-hint.css";

/** Names a key beside what it does; not shown where there is no keyboard. */
export function KeyHint({ keys }: { keys: string }) {
  return <kbd className="key-hint">{keys}</kbd>;
}
