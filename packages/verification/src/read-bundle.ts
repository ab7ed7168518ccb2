import { fromHex, toHex, utf8 } from "@sealbook/evidence/bytes";
import { canonicalJson } from "@sealbook/evidence/canonical-json";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { type BundledEntry, type BundleLine, bundleLineSchema, type LineOf } from "./bundle-lines.ts";
import type { Findings } from "./finding.ts";
import { parsed, type ReadEntry, readEntry } from "./read-entry.ts";

/** Opens a bundle anew: its lines, without line ends, in order. It is read twice. */
export type OpenLines = () => AsyncIterable<string>;

/** Everything of a bundle but the records of tests, which may be many and are read once more by themselves. */
export interface Bundle {
  readonly opening: LineOf<"bundle"> | null;
  readonly head: LineOf<"head"> | null;
  readonly earlier: readonly LineOf<"earlier">[];
  /** The figures, as they were hashed. */
  readonly reportText: string | null;
  readonly profiles: readonly LineOf<"profile">[];
  readonly plans: readonly LineOf<"plan">[];
  readonly calibrations: readonly LineOf<"calibration">[];
  readonly lots: readonly LineOf<"lot">[];
  readonly names: readonly LineOf<"name">[];
  readonly proof: LineOf<"proof"> | null;
  /** Entries beside those of single tests, in the order of the log. */
  readonly entries: readonly ReadEntry[];
  /** Leaves of all entries, by index. */
  readonly leaves: readonly { readonly index: number; readonly hash: Uint8Array }[];
  /** Lines that hold a test. */
  readonly tests: number;
}

/** Hears how many lines have been read. */
export type Progress = (lines: number) => void;

/** Kinds in the order in which they stand; entries and names stand among each other. */
const order: readonly (readonly BundleLine["kind"][])[] = [
  ["bundle"],
  ["head"],
  ["earlier"],
  ["report"],
  ["profile"],
  ["test"],
  ["plan"],
  ["calibration"],
  ["lot"],
  ["entry", "name"],
  ["proof"],
  ["end"],
];

const single = ["bundle", "head", "report", "proof", "end"] as const;

/**
 * Reads a bundle once: its form, and everything but the tests.
 *
 * @param findings takes what is wrong with the form
 */
export async function readBundle(open: OpenLines, findings: Findings, progress: Progress): Promise<Bundle> {
  const byKind = new Map<BundleLine["kind"], BundleLine[]>();
  const entries: ReadEntry[] = [];
  const leaves: { index: number; hash: Uint8Array }[] = [];
  let lines = 0;
  let tests = 0;
  let place = 0;
  for await (const text of open()) {
    lines += 1;
    if (lines % 1000 === 0) progress(lines);
    const line = readLine(text);
    if (line === null) {
      findings.wrong("line-not-readable", `Line ${lines} is none that an evidence bundle has.`);
      continue;
    }
    const at = order.findIndex((kinds) => kinds.includes(line.kind));
    if (at < place)
      findings.wrong("line-not-readable", `Line ${lines}, “${line.kind}”, stands out of its order.`);
    place = Math.max(place, at);
    if (line.kind === "test" || line.kind === "entry") {
      const bundled = line.kind === "test" ? line.entry : line;
      if (line.kind === "test") tests += 1;
      if (bundled === null) continue;
      const entry = readEntry(bundled.text, bundled.index);
      if (entry === null)
        findings.wrong("entry-not-readable", `Line ${lines} holds an entry that cannot be read.`);
      // The entry of a single test is read once more with its test; keeping them all would hold the whole file.
      else if (line.kind === "entry" || !isOfOneTest(entry)) entries.push(entry);
      leaves.push({ index: bundled.index, hash: hashOfLeaf(bundled) });
      continue;
    }
    const known = byKind.get(line.kind);
    if (known === undefined) byKind.set(line.kind, [line]);
    else known.push(line);
  }
  const all = <Kind extends BundleLine["kind"]>(kind: Kind) => (byKind.get(kind) ?? []) as LineOf<Kind>[];
  for (const kind of single) {
    if (all(kind).length > 1)
      findings.wrong("line-not-readable", `There are ${all(kind).length} lines “${kind}”.`);
  }
  const end = all("end")[0];
  if (end === undefined || end.lines !== lines - 1) {
    findings.wrong(
      "cut-short",
      end === undefined
        ? "The file has no end: it was cut short."
        : `The file's end counts ${end.lines} lines, and ${lines - 1} stand before it.`,
    );
  }
  return {
    opening: all("bundle")[0] ?? null,
    head: all("head")[0] ?? null,
    earlier: all("earlier"),
    reportText: all("report")[0]?.text ?? null,
    profiles: all("profile"),
    plans: all("plan"),
    calibrations: all("calibration"),
    lots: all("lot"),
    names: all("name"),
    proof: all("proof")[0] ?? null,
    entries: entries.sort((a, b) => a.index - b.index),
    leaves: leaves.sort((a, b) => a.index - b.index),
    tests,
  };
}

/** A line of a bundle, or null where it is none. */
export function readLine(text: string): BundleLine | null {
  return bundleLineSchema.safeParse(parsed(text)).data ?? null;
}

/** Whether an entry recorded one test, and stands beside it. */
export function isOfOneTest({ action, subjectType }: ReadEntry): boolean {
  return subjectType === "meterTest" && (action === "meterTest.record" || action === "meterTest.amend");
}

/** Leaf of an entry from the text that it is. @source packages/evidence/src/log-leaf.ts says what a leaf holds */
function hashOfLeaf({ text, rows }: BundledEntry): Uint8Array {
  if (rows === null) return leafHash(utf8(text));
  return leafHash(utf8(canonicalJson({ entry: toHex(leafHash(utf8(text))), format: 2, rows })));
}

/** Hashes as they travel. */
export function hashesOf(texts: readonly string[]): Uint8Array[] {
  return texts.map(fromHex);
}
