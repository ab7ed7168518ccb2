import { useRouterState } from "@tanstack/react-router";
import { useEffect, useState } from "react";

/** Tells a screen reader the new page's title after a link was followed, as a page load would. */
export function PageAnnouncement() {
  const pathname = useRouterState({ select: (state) => state.resolvedLocation?.pathname ?? "" });
  const [title, setTitle] = useState("");
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new address is what makes the announcement.
  useEffect(() => {
    const timer = setTimeout(() => setTitle(document.title), 300);
    return () => clearTimeout(timer);
  }, [pathname]);
  return (
    <div className="visually-hidden" aria-live="polite">
      {title}
    </div>
  );
}
