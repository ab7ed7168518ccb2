/** Sentences that several profiles share word for word. */
export const caution = "Verify against the current text; local rules govern.";

export const roundingNote =
  "Judged unrounded, as typed. Rounded only to print and to count bands, half away from zero.";

export const simpleAcceptance = {
  kind: "simple",
  source:
    "Sealbook's default; the text read compares the measured value with the limit and is silent on uncertainty",
} as const;

export const takeUncorrected = {
  policy: "take-uncorrected",
  source: "Sealbook's default; the text read is silent on points outside the certified range",
} as const;
