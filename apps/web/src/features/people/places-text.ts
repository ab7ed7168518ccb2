import type { Account } from "@sealbook/contract/people";

/** Where somebody works, in words. */
export function placesText({ places }: Pick<Account, "places">): string {
  return places.length === 0 ? "all of the shop" : places.map(({ name }) => name).join(", ");
}
