import "./page-header.css";
import type { ReactNode } from "react";
import { useDocumentTitle } from "./use-document-title.ts";

/** The heading of a page, a line about it, and what can be done there. It names the browser's tab, too. */
export function PageHeader({
  title,
  note,
  actions,
}: {
  title: string;
  note?: ReactNode;
  actions?: ReactNode;
}) {
  useDocumentTitle(title);
  return (
    <header className="page-header">
      <div>
        <h1>{title}</h1>
        {note === undefined ? null : <div className="page-header-note">{note}</div>}
      </div>
      {actions === undefined ? null : <div className="row">{actions}</div>}
    </header>
  );
}
