import { type RefObject, useEffect, useState } from "react";

/** Width of an element in CSS pixels as it changes; null before it is measured. */
export function useElementWidth(element: RefObject<HTMLElement | null>): number | null {
  const [width, setWidth] = useState<number | null>(null);
  useEffect(() => {
    const observed = element.current;
    if (observed === null) return;
    const observer = new ResizeObserver(([entry]) => {
      if (entry !== undefined) setWidth(Math.round(entry.contentRect.width));
    });
    observer.observe(observed);
    return () => observer.disconnect();
  }, [element]);
  return width;
}
