export const lotKinds = ["shipment", "in-service"] as const;

export type LotKind = (typeof lotKinds)[number];

export const lotKindNames: Record<LotKind, string> = {
  shipment: "Shipment",
  "in-service": "Group in service",
};

/**
 * forming: meters may be added. planned: the plan stands, the meters are fixed. listed: the candidate list's hash is in
 * the ledger. drawn: the sample is known and followed. decided: signed off by nobody yet. approved: the decision
 * stands. closed: what follows from it is done. withdrawn: given up before its draw.
 */
export const lotStates = [
  "forming",
  "planned",
  "listed",
  "drawn",
  "decided",
  "approved",
  "closed",
  "withdrawn",
] as const;

export type LotState = (typeof lotStates)[number];

export const lotStateNames: Record<LotState, string> = {
  forming: "Taking in meters",
  planned: "Planned",
  listed: "List published",
  drawn: "Drawn, being tested",
  decided: "Decided, awaits approval",
  approved: "Decision approved",
  closed: "Closed",
  withdrawn: "Withdrawn",
};

export const lotOutcomes = ["accepted", "accepted-return-to-normal", "not-accepted"] as const;

export type LotOutcome = (typeof lotOutcomes)[number];

export const lotOutcomeNames: Record<LotOutcome, string> = {
  accepted: "Accepted",
  "accepted-return-to-normal": "Accepted, normal inspection returns",
  "not-accepted": "Not accepted",
};

/** What came of a lot after its decision was approved. */
export const dispositions = [
  "released",
  "returned",
  "resubmitted",
  "kept-in-service",
  "corrected",
  "tried-again",
] as const;

export const dispositionNames: Record<(typeof dispositions)[number], string> = {
  released: "Released to stock",
  returned: "Returned to the maker",
  resubmitted: "Screened and resubmitted",
  "kept-in-service": "Kept in service",
  corrected: "Corrective actions done",
  "tried-again": "Decided by a second try",
};
