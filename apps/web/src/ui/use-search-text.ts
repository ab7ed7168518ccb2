import { useNavigate, useSearch } from "@tanstack/react-router";

/** The part of the address after "?", as plain text by name. */
export type SearchText = Readonly<Record<string, string>>;

/**
 * Filters of a list live in the address, so that a list can be bookmarked, sent and gone back to.
 *
 * @returns the present values, and a function that changes some of them; "" takes a value out
 */
export function useSearchText(): [SearchText, (changes: SearchText) => void] {
  const search: SearchText = useSearch({ strict: false });
  const navigate = useNavigate();
  const change = (changes: SearchText) => {
    const next = Object.entries({ ...search, ...changes }).filter(([, value]) => value !== "");
    void navigate({ to: ".", search: Object.fromEntries(next), replace: true });
  };
  return [search, change];
}
