// The door of sampling: what shipments, groups, reports and the demo shop ask of a lot.

export { addCorrectiveAction } from "./actions.ts";
export { approve, decide } from "./decisions.ts";
export { draw, getCandidates, publishList, refuseSeedTerms } from "./draws.ts";
export { recordEvents } from "./follow-up.ts";
export {
  addMembers,
  countsOfProgrammes,
  dispose,
  getLot,
  lockLotIn,
  openLot,
  plan,
} from "./lots.ts";
export { evaluate, listDrawUnits } from "./sample-of-lot.ts";
export { addScheme, schemeById } from "./schemes.ts";
export { nextSeverities } from "./series.ts";
