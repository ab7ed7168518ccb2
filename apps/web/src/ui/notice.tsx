import "./notice.css";
import type { ReactNode } from "react";

/** Something that the person must know before going on: a refusal, a caution, a finding. */
export function Notice({
  tone = "plain",
  title,
  children,
  isAnnounced = false,
}: {
  tone?: "plain" | "warn" | "bad";
  title?: ReactNode;
  children?: ReactNode;
  /** Read out at once, where it answers something the person just did. */
  isAnnounced?: boolean;
}) {
  return (
    <div className={`notice notice-${tone}`} role={isAnnounced ? "alert" : undefined}>
      {title === undefined ? null : <div className="notice-title">{title}</div>}
      {children}
    </div>
  );
}
