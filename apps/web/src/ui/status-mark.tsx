import "./status-mark.css";
import type { ReactNode } from "react";

export type StatusTone = "good" | "bad" | "warn" | "neutral";

/** A shape for each tone, so that no status hangs on colour. */
const shapes: Record<StatusTone, ReactNode> = {
  good: <circle cx="5" cy="5" r="4.5" fill="currentColor" />,
  bad: <rect width="10" height="10" fill="currentColor" />,
  warn: <path d="M5 0.5 10 9.5 0 9.5Z" fill="currentColor" />,
  neutral: <path d="M5 0.8 9.2 5 5 9.2 0.8 5Z" fill="none" stroke="currentColor" strokeWidth="1.2" />,
};

/** A status: always a word, with a shape before it. */
export function StatusMark({ tone, children }: { tone: StatusTone; children: ReactNode }) {
  return (
    <span className={`status-mark status-mark-${tone}`}>
      <svg viewBox="0 0 10 10" aria-hidden="true" focusable="false">
        {shapes[tone]}
      </svg>
      <span>{children}</span>
    </span>
  );
}
