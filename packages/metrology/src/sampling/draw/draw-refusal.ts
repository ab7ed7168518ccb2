/** Why a draw cannot be made, in a word for programs and a sentence for people. */
export interface DrawRefusal {
  kind: "refused";
  reason: "empty-list" | "candidate-not-text" | "candidate-twice" | "seed-not-usable" | "more-than-listed";
  sentence: string;
}
