import { type ReportBody, reportBodySchema } from "@sealbook/contract/reports";
import { toHex, utf8 } from "@sealbook/evidence/bytes";
import { sha256 } from "@sealbook/evidence/sha256";
import type { Findings } from "./finding.ts";
import type { Bundle } from "./read-bundle.ts";
import { parsed, type ReadEntry } from "./read-entry.ts";

/** The figures of a bundle with the entries that fixed, signed and released them. */
export interface ReadReport {
  readonly body: ReportBody;
  readonly sha256: string;
  readonly fixed: ReadEntry | null;
  readonly released: ReadEntry | null;
}

/** Reads the figures, and holds them against the entries that fixed and released them. */
export function checkReport(bundle: Bundle, findings: Findings): ReadReport | null {
  const body = reportBodySchema.safeParse(
    bundle.reportText === null ? undefined : parsed(bundle.reportText),
  ).data;
  if (bundle.reportText === null || body === undefined) {
    findings.wrong("report-not-readable", "The bundle has no report that can be read.");
    return null;
  }
  if (
    bundle.opening !== null &&
    (bundle.opening.reportId !== body.id || bundle.opening.edition !== body.edition)
  ) {
    findings.wrong("report-differs", "The file's first line names another report, or another edition of it.");
  }
  const hash = toHex(sha256(utf8(bundle.reportText)));
  const of = (action: string) =>
    bundle.entries.filter((entry) => entry.subjectId === body.id && entry.action === action);
  const draft = of("report.draft").at(-1) ?? null;
  const fixed = of("report.fix").at(-1) ?? null;
  const released = of("report.release").at(-1) ?? null;
  if (fixed === null) findings.wrong("report-not-fixed", "No entry of the log fixed these figures.");
  else if (fixed.payload.sha256 !== hash) {
    findings.wrong(
      "report-differs",
      `The figures were fixed with the hash ${String(fixed.payload.sha256)}; those here have ${hash}.`,
    );
  }
  if (released === null) findings.wrong("report-not-released", "No entry of the log released this report.");
  else if (released.payload.sha256 !== hash) {
    findings.wrong(
      "report-differs",
      `The report was released with the hash ${String(released.payload.sha256)}; the figures here have ${hash}.`,
    );
  }
  if (draft === null) findings.wrong("report-not-drafted", "No entry of the log drafted this report.");
  checkSignatures(of("report.sign"), { draft, fixed, released }, findings);
  if (draft !== null && released !== null && draft.actorId !== null && draft.actorId === released.actorId) {
    findings.wrong("released-by-its-author", "The report was released by the person who drafted it.");
  }
  return { body, sha256: hash, fixed, released };
}

/** Three signatures, each over the entry of what was signed: of the reviewer, the author and the releaser. */
function checkSignatures(
  signatures: readonly ReadEntry[],
  { draft, fixed, released }: Record<"draft" | "fixed" | "released", ReadEntry | null>,
  findings: Findings,
): void {
  const wanted = [
    { meaning: "reviewed", words: "a reviewer", signed: fixed, byAuthor: false },
    { meaning: "prepared", words: "its author", signed: fixed, byAuthor: true },
    { meaning: "released", words: "whoever released it", signed: released, byAuthor: false },
  ];
  for (const { meaning, words, signed: record, byAuthor } of wanted) {
    if (record === null) continue;
    const found = signatures.some(
      ({ actorId, payload }) =>
        payload.meaning === meaning &&
        (draft?.actorId == null || (actorId === draft.actorId) === byAuthor) &&
        payload.recordEntryId === record.id &&
        payload.recordHash === record.hash,
    );
    if (!found) findings.wrong("report-not-signed", `The report is not signed by ${words}.`);
  }
}
