import { checkDocuments, checkNames } from "./check-documents.ts";
import { checkFigures, checkManifest, checkStandards } from "./check-figures.ts";
import { checkEntries, checkHead, fingerprint } from "./check-head.ts";
import { checkLots, countedInLots } from "./check-lots.ts";
import { checkReport } from "./check-report.ts";
import { checkTests } from "./check-tests.ts";
import { type Checked, type Finding, Findings } from "./finding.ts";
import { type OpenLines, readBundle } from "./read-bundle.ts";
import type { HeldOutside } from "./read-held.ts";

/** What a bundle was found to be. */
export interface Verification {
  /** Title, period and edition of the report, as it says; null where it cannot be read. */
  readonly report: {
    readonly title: string;
    readonly shop: string;
    readonly from: string;
    readonly to: string;
    readonly edition: number;
    readonly sha256: string;
  } | null;
  /** The signed head that the bundle leads to; null where nobody known signed it. */
  readonly head: { readonly origin: string; readonly size: number; readonly keys: readonly string[] } | null;
  readonly parts: readonly Checked[];
  /** What no bundle can show, in sentences. */
  readonly cannotBeKnown: readonly string[];
  /** Whether nothing was found wrong. What could not be told may still be among the findings. */
  readonly holds: boolean;
  /** Whether nothing is wrong and nothing that was asked could not be told. */
  readonly holdsFully: boolean;
}

/**
 * Verifies an evidence bundle: its form, the signed head, every entry's place in the log, the report against the entries
 * that fixed and released it, the period's manifest, every record of a test against its entry and judged again from what was
 * typed, the figures counted again, rules, plans and calibrations, and every lot planned, drawn and decided again.
 *
 * It needs neither network nor database, and neither clock nor chance: the same file gives the same answer years later.
 *
 * @param open     opens the bundle's lines; called twice
 * @param held     what the stranger has from elsewhere
 * @param progress hears which part is read and how many lines of it
 */
export async function verifyBundle(
  open: OpenLines,
  held: HeldOutside,
  progress: (part: "form" | "tests", lines: number) => void = () => undefined,
): Promise<Verification> {
  const parts: Checked[] = [];
  const part = (name: string, findings: Findings, holds: string) =>
    parts.push({ part: name, holds, findings: findings.all });

  const form = new Findings();
  const bundle = await readBundle(open, form, (lines) => progress("form", lines));
  if (bundle.opening === null) {
    form.wrong("not-a-bundle", "This is no evidence bundle of form 1.");
    part("The file", form, "");
    return verificationOf(null, null, parts);
  }
  part("The file", form, `It is whole. Records of tests: ${bundle.tests}; lots: ${bundle.lots.length}.`);

  const signed = new Findings();
  const head = checkHead(bundle, held, signed);
  part(
    "The signed head",
    signed,
    head === null
      ? ""
      : `The log ${head.origin} signed its head of ${head.size} entries${held.heads.length + held.printed.length === 0 ? "" : ", which continues what you hold"}.`,
  );

  const log = new Findings();
  checkEntries(bundle, head, log);
  part("The log", log, `Entries here, each in the log at its place: ${bundle.leaves.length}.`);

  const reported = new Findings();
  const report = checkReport(bundle, reported);
  part("The report", reported, "Its figures are those that were fixed, signed by two people and released.");
  if (report === null) return verificationOf(null, head && headOf(head, held), parts);
  const { body } = report;

  const documents = new Findings();
  checkDocuments(bundle, body, documents);
  part(
    "Rules, test plans and calibrations",
    documents,
    `All are as they were put on record. Versions of rules: ${bundle.profiles.length}; test plans: ${bundle.plans.length}; calibrations: ${bundle.calibrations.length}.`,
  );

  const records = new Findings();
  const counted = await checkTests(open, bundle, body, countedInLots(bundle), records, (lines) =>
    progress("tests", lines),
  );
  part(
    "Records of tests",
    records,
    `Records that agree with their entries: ${counted.count}; judged again from what was typed, with the same outcome: ${counted.judgedAgain}.`,
  );

  const manifest = new Findings();
  checkManifest(report, counted, manifest);
  part(
    "Completeness",
    manifest,
    "The records are those that were fixed before the release: none is missing, none was put in since.",
  );

  const figures = new Findings();
  checkFigures(body, counted, figures);
  checkStandards(body, counted, figures);
  part(
    "Figures",
    figures,
    "Counted again from the records, every figure of the summary comes out as reported.",
  );

  const lots = new Findings();
  const draws = checkLots(bundle, body, counted.wanted, lots);
  part(
    "Lots",
    lots,
    body.lots.length === 0
      ? "No lot was decided in the period."
      : `All come out as decided. Lots planned and decided again: ${bundle.lots.length}; draws repeated: ${draws}.`,
  );

  if (bundle.opening.names === "opened") {
    const names = new Findings();
    checkNames(bundle, names);
    part("Names", names, `Names that are those of the ledger: ${bundle.names.length}.`);
  }
  return verificationOf(
    {
      title: body.title,
      shop: body.shop,
      from: body.period.from,
      to: body.period.to,
      edition: body.edition,
      sha256: report.sha256,
    },
    head && headOf(head, held),
    parts,
  );
}

function headOf(head: { origin: string; size: number }, held: HeldOutside): Verification["head"] {
  return { origin: head.origin, size: head.size, keys: held.keys.map(fingerprint) };
}

function verificationOf(
  report: Verification["report"],
  head: Verification["head"],
  parts: readonly Checked[],
): Verification {
  const findings: readonly Finding[] = parts.flatMap((one) => one.findings);
  const holds = findings.every(({ kind }) => kind !== "wrong");
  return {
    report,
    head,
    parts,
    cannotBeKnown: [
      "Whether something that happened was never recorded: a test that nobody entered leaves no trace.",
      "A rewrite of everything newer than the head that you hold, by somebody who has both the database and the key.",
      "Whether the shop had fixed every test and every lot of the period that its log holds: one that was kept out of the report before its release shows by its certificate, by its decision sheet, or in an export of the log.",
      "Which type a meter was of, and the date of a test before where that test stands in no record here: the report names them.",
      "What the report only tells: corrective actions, rows of files that were set aside, and changes against lots and editions outside this bundle. They stand under the report's hash, and are not counted again.",
    ],
    holds,
    holdsFully: holds && findings.length === 0,
  };
}
