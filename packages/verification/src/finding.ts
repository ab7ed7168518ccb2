/** What a check may find wrong, or not be able to tell; each has its own name, so that a test can ask for it. */
export type FindingName =
  // The file
  | "not-a-bundle"
  | "line-not-readable"
  | "cut-short"
  // The signed head
  | "key-unknown"
  | "key-differs"
  | "head-not-signed"
  | "held-head-not-readable"
  | "held-head-not-signed"
  | "held-head-not-compared"
  | "history-rewritten"
  // The log
  | "entry-twice"
  | "entry-not-readable"
  | "not-in-the-log"
  // The report
  | "report-not-readable"
  | "report-differs"
  | "report-not-drafted"
  | "report-not-fixed"
  | "report-not-signed"
  | "report-not-released"
  | "released-by-its-author"
  // The period's manifest
  | "manifest-count"
  | "manifest-root"
  | "tests-out-of-order"
  | "test-outside-period"
  // Records behind the figures
  | "test-not-readable"
  | "test-without-entry"
  | "test-bound-in-bulk"
  | "test-differs"
  | "test-judged-otherwise"
  | "test-not-judged-again"
  | "test-state"
  | "test-before"
  | "standard-swapped"
  | "calibration-differs"
  | "calibration-missing"
  | "plan-differs"
  | "plan-missing"
  | "profile-differs"
  | "profile-missing"
  | "profile-not-approved"
  // Figures
  | "figures-differ"
  | "standards-differ"
  // Lots
  | "lot-missing"
  | "lot-not-reported"
  | "lot-differs"
  | "scheme-differs"
  | "plan-of-lot-differs"
  | "list-differs"
  | "seed-differs"
  | "draw-differs"
  | "list-after-draw"
  | "meter-not-drawn"
  | "reading-differs"
  | "reading-not-compared"
  | "decision-differs"
  | "decision-not-approved"
  | "lot-date-differs"
  | "not-decided-again"
  // Names
  | "name-differs";

/** What a check found: that something does not hold, or that it cannot be told. */
export interface Finding {
  readonly name: FindingName;
  readonly kind: "wrong" | "unknown";
  /** A sentence for a person: what it is about and what was found. */
  readonly sentence: string;
}

/** One part of the verification: what was looked at, and what was found. */
export interface Checked {
  readonly part: string;
  /** What holds when nothing is found, in a sentence with its figures. */
  readonly holds: string;
  readonly findings: readonly Finding[];
}

/** Takes findings, and keeps so many of each name; of the others it keeps the count. */
export class Findings {
  readonly #kept: Finding[] = [];
  readonly #counts = new Map<FindingName, number>();
  readonly #mostOfAName: number;

  constructor(mostOfAName = 20) {
    this.#mostOfAName = mostOfAName;
  }

  wrong(name: FindingName, sentence: string): void {
    this.#take({ name, kind: "wrong", sentence });
  }

  unknown(name: FindingName, sentence: string): void {
    this.#take({ name, kind: "unknown", sentence });
  }

  get all(): readonly Finding[] {
    const more = [...this.#counts]
      .filter(([, count]) => count > this.#mostOfAName)
      .map(([name, count]): Finding => {
        const kind = this.#kept.find((finding) => finding.name === name)?.kind ?? "wrong";
        return { name, kind, sentence: `and ${count - this.#mostOfAName} more like these.` };
      });
    return [...this.#kept, ...more];
  }

  #take(finding: Finding): void {
    const count = (this.#counts.get(finding.name) ?? 0) + 1;
    this.#counts.set(finding.name, count);
    if (count <= this.#mostOfAName) this.#kept.push(finding);
  }
}
