import "./button.css";
import { Link } from "@tanstack/react-router";
import type { ReactNode } from "react";

/** A link that looks like a button, for the step that leads to another page. */
export function ButtonLink({
  to,
  search,
  kind = "plain",
  children,
}: {
  to: string;
  search?: Record<string, string>;
  kind?: "primary" | "plain" | "quiet";
  children: ReactNode;
}) {
  return (
    <Link to={to} {...(search === undefined ? {} : { search })} className={`button button-${kind}`}>
      {children}
    </Link>
  );
}
