import { useEffect } from "react";

/** Names the browser's tab after the page. */
export function useDocumentTitle(title: string): void {
  useEffect(() => {
    document.title = `${title} · Sealbook`;
  }, [title]);
}
