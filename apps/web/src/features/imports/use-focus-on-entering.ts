import { type RefObject, useEffect, useRef } from "react";

/** Puts the keyboard at a place when something begins there, but not where it goes on already as the page opens. */
export function useFocusOnEntering(place: RefObject<HTMLElement | null>, isThere: boolean): void {
  const wasThere = useRef(isThere);
  useEffect(() => {
    if (isThere && !wasThere.current) place.current?.focus();
    wasThere.current = isThere;
  }, [isThere, place]);
}
