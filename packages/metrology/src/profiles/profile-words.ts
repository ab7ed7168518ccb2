/** Sentences that several profiles share word for word. */
export const caution = "Verify against the current text; local rules govern.";

export const roundingNote =
  "Judged unrounded, as typed. Rounded only to print and to count bands, half away from zero.";

export const simpleAcceptance = {
  kind: "simple",
  source:
    "choice of ours: the text read compares the measured value with the limit and says nothing of uncertainty",
} as const;

export const takeUncorrected = {
  policy: "take-uncorrected",
  source: "choice of ours: the text read does not say",
} as const;
