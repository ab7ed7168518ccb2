import type { Lot } from "@sealbook/contract/sampling";

/** A step of a lot's page that somebody has to take now. */
export interface PresentStep {
  number: number;
  title: string;
}

/**
 * The step that a lot waits for; null once nothing is left to do.
 *
 * @param lot state, counts and actions of the lot
 * @returns number and name of the step on the lot's page
 */
export function presentStep(
  lot: Pick<Lot, "kind" | "state" | "counts" | "openActions"> & {
    actions: readonly unknown[];
    secondTry: Pick<NonNullable<Lot["secondTry"]>, "lotId" | "refusal"> | null;
  },
): PresentStep | null {
  switch (lot.state) {
    case "forming":
      return lot.counts.members === 0
        ? { number: 1, title: "take the meters in" }
        : { number: 2, title: "fix the plan" };
    case "planned":
      return { number: 3, title: "publish the list" };
    case "listed":
      return { number: 3, title: "draw" };
    case "drawn":
      return lot.counts.done < lot.counts.sample
        ? { number: 4, title: "follow the sample up" }
        : { number: 6, title: "decide" };
    case "decided":
      return { number: 7, title: "approve" };
    case "approved":
      if (lot.kind === "shipment") return { number: 8, title: "dispose of the meters" };
      // The second try has a page of its own, and decides.
      if (lot.secondTry !== null && lot.secondTry.lotId !== null) return null;
      if (lot.secondTry?.refusal === null && lot.actions.length === 0)
        return { number: 8, title: "try it a second time, or set a corrective action" };
      return lot.openActions > 0
        ? { number: 8, title: "see to the open actions" }
        : { number: 8, title: lot.actions.length === 0 ? "set a corrective action" : "close the group" };
    case "closed":
      return lot.openActions > 0 ? { number: 8, title: "see to the open actions" } : null;
    case "withdrawn":
      return null;
  }
}
