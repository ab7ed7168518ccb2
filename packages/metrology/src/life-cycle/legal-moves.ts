/**
 * A meter's life as a table: which event leads from which state to which, and to what kind of place.
 *
 * It lies here and not in the contract because it is a rule of the trade, and rules are pure and stand below everything:
 * the page offers what the table allows, the service refuses what it does not, and both read it from one place.
 *
 * Source: common practice, no source. A shop may wish other ways; then a row changes, and nothing else.
 */

/** Where a meter stands in its life. It follows from its events and is never typed over. */
export const lifeStates = [
  "received",
  "in-stock",
  "issued",
  "in-service",
  "removed",
  "in-shop",
  "retired",
  "disposed",
] as const;
export type LifeState = (typeof lifeStates)[number];

/** What can happen to a meter. A test is no event of its own: it stands in the record of tests. */
export const lifeEventKinds = [
  "receive",
  "stock",
  "issue",
  "set",
  "remove",
  "return",
  "repair",
  "seal",
  "retire",
  "dispose",
] as const;
export type LifeEventKind = (typeof lifeEventKinds)[number];

/** A kind of place where a meter can be. */
export type PlaceKind = "shop" | "store" | "shelf" | "van" | "service-point";

export interface LegalMove {
  /** States from which it is legal; "none" is a meter that is not on record yet. */
  readonly from: readonly (LifeState | "none")[];
  /** The state after it; "same" leaves it as it is. */
  readonly to: LifeState | "same";
  /** Kinds of place it leads to; empty where the meter stays where it is. */
  readonly places: readonly PlaceKind[];
  /** What alone can be done so, for the sentence of a refusal: "only a meter in service can be removed". */
  readonly only: string;
}

const indoors: readonly PlaceKind[] = ["shop", "store", "shelf"];

/** The table. A meter that is added on the spot begins where it is found: at its point, in the shop or on a shelf. */
export const legalMoves: Readonly<Record<LifeEventKind, LegalMove>> = {
  receive: { from: ["none"], to: "received", places: indoors, only: "only a new meter can be received" },
  stock: {
    from: ["none", "received", "in-stock", "issued", "removed", "in-shop"],
    to: "in-stock",
    places: indoors,
    only: "only a meter that is received, in stock, issued, removed or in the shop can be put in stock",
  },
  issue: {
    from: ["in-stock", "issued"],
    to: "issued",
    places: ["van", "shop", "store"],
    only: "only a meter in stock, or issued to somebody else, can be issued",
  },
  set: {
    from: ["none", "in-stock", "issued", "removed"],
    to: "in-service",
    places: ["service-point"],
    only: "only a meter that is in stock, issued or removed can be set",
  },
  remove: {
    from: ["in-service"],
    to: "removed",
    places: ["van", ...indoors],
    only: "only a meter in service can be removed",
  },
  return: {
    from: ["none", "received", "in-stock", "issued", "removed"],
    to: "in-shop",
    places: indoors,
    only: "only a meter that is received, in stock, issued or removed can be returned to the shop",
  },
  repair: { from: ["in-shop"], to: "in-shop", places: [], only: "only a meter in the shop can be repaired" },
  seal: {
    from: ["received", "in-stock", "issued", "in-service", "removed", "in-shop"],
    to: "same",
    places: [],
    only: "only a meter in use can have its seals changed",
  },
  retire: {
    from: ["received", "in-stock", "issued", "removed", "in-shop"],
    to: "retired",
    places: indoors,
    only: "only a meter that is in the utility's hands can be retired: remove one in service first",
  },
  dispose: { from: ["retired"], to: "disposed", places: [], only: "only a retired meter can be disposed of" },
};

/** A state within a sentence: "M123 is in stock". */
export const stateWords: Readonly<Record<LifeState | "none", string>> = {
  none: "not on record yet",
  received: "received",
  "in-stock": "in stock",
  issued: "issued",
  "in-service": "in service",
  removed: "removed",
  "in-shop": "in the shop",
  retired: "retired",
  disposed: "disposed of",
};

/** Whether a meter in this state is done with: its utility number may be given to another. */
export function isDoneWith(state: LifeState): boolean {
  return state === "retired" || state === "disposed";
}
