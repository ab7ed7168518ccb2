import type { Place } from "@sealbook/contract/places";

/** A place in words: a service point's name is its number alone, which says nothing by itself. */
export function placeName({ kind, name }: Pick<Place, "kind" | "name">): string {
  return kind === "service-point" ? `service point ${name}` : name;
}
