import { createHash, randomBytes } from "node:crypto";
import { fromHex, toHex, utf8 } from "@sealbook/evidence/bytes";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import { openCheckpoint, writeCheckpoint } from "@sealbook/evidence/checkpoint";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { readNoteKey, writeNoteKey } from "@sealbook/evidence/note-key";
import { rootFromMany } from "@sealbook/evidence/proof-of-many";
import { keyOfSigner } from "@sealbook/evidence/signed-note";
import type { FindingName } from "@sealbook/verification/finding";
import { readHeld } from "@sealbook/verification/read-held";
import { type Verification, verifyBundle } from "@sealbook/verification/verify-bundle";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { linesOfBundle, type ReleasedReport, releasedReport } from "../support/released-report.ts";

// biome-ignore lint/suspicious/noExplicitAny: lines are bent on purpose.
type Line = any;

let released: ReleasedReport;
let untouched: string[];

beforeAll(async () => {
  released = await releasedReport();
  untouched = linesOfBundle(await released.bundle({ names: "opened", heldSize: released.earlierSize }));
}, 600_000);
afterAll(() => released.close());

const verify = (lines: readonly string[], held = released.key) =>
  verifyBundle(async function* () {
    yield* lines;
  }, readHeld(held));

const namesIn = ({ parts }: Verification, kind?: "wrong" | "unknown") =>
  [
    ...new Set(
      parts
        .flatMap(({ findings }) => findings.filter((one) => kind === undefined || one.kind === kind))
        .map(({ name }) => name),
    ),
  ].sort();

const text = (value: unknown) => canonicalJson(value as CanonicalValue);
const parse = () => untouched.map((line): Line => JSON.parse(line));
const withText = (line: Line, change: (value: Line) => void) => {
  const value = JSON.parse(line.text);
  change(value);
  line.text = text(value);
};
/** Bends what an entry recorded. */
const withPayload = (entry: Line, change: (payload: Line) => void) =>
  withText(entry, (value) => {
    const payload = JSON.parse(value.payload);
    change(payload);
    value.payload = text(payload);
  });
const ofKind = (lines: Line[], kind: string): Line[] => lines.filter((line) => line.kind === kind);
const entryOf = (lines: Line[], action: string): Line =>
  ofKind(lines, "entry").find((line) => JSON.parse(line.text).action === action);
/** A test that was made and counts. */
const aTest = (lines: Line[]): Line =>
  ofKind(lines, "test").find((line) => {
    const test = JSON.parse(line.text);
    return test.state === "counted" && test.asFound?.fullLoad != null && test.asFound.verdict === "pass";
  });
const renumber = (lines: Line[]) => {
  lines[lines.length - 1] = { kind: "end", lines: lines.length - 1 };
};

/** Fifty ways to bend a bundle, each with a finding that must name it, written by hand from docs/bundle.md. */
const tamperings: readonly [what: string, named: FindingName, bend: (lines: Line[]) => void][] = [
  // Records of tests
  [
    "a reading of a record",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.asFound.fullLoad = "99.1";
      }),
  ],
  [
    "the average of a record",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.asFound.average = "99.1";
      }),
  ],
  [
    "a verdict of a record",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.asFound.verdict = "fail";
      }),
  ],
  [
    "what was outside limits",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.asFound.outside = ["fullLoad"];
      }),
  ],
  [
    "that the average was outside limits",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.asFound.outside = ["average"];
      }),
  ],
  [
    "creep",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.asFound.creeps = test.asFound.creeps !== true;
      }),
  ],
  [
    "the date of a record",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.performedOn = nextDay(test.performedOn);
      }),
  ],
  [
    "the meter of a record",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.meterId = test.id;
      }),
  ],
  [
    "the reason of a record",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.reasons = ["referee"];
      }),
  ],
  [
    "the standard of a record",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.standardId = test.id;
      }),
  ],
  [
    "when a record was made",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.recordedAt = "2020-01-01T00:00:00.000Z";
      }),
  ],
  [
    "a record made another state",
    "manifest-root",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.state = "amended";
      }),
  ],
  [
    "the date of the test before",
    "manifest-root",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.previousOn = "2001-01-01";
      }),
  ],
  [
    "a date outside the period",
    "test-outside-period",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.performedOn = "1999-01-01";
      }),
  ],
  [
    "an omitted test",
    "manifest-count",
    (lines) => {
      lines.splice(lines.indexOf(aTest(lines)), 1);
      renumber(lines);
    },
  ],
  [
    "an added test",
    "manifest-count",
    (lines) => {
      const at = lines.indexOf(aTest(lines));
      lines.splice(at, 0, structuredClone(lines[at]));
      renumber(lines);
    },
  ],
  [
    "two tests in another order",
    "tests-out-of-order",
    (lines) => {
      const at = lines.indexOf(ofKind(lines, "test")[0]);
      [lines[at], lines[at + 1]] = [lines[at + 1], lines[at]];
    },
  ],
  [
    "a record without its entry",
    "test-without-entry",
    (lines) => {
      aTest(lines).entry = null;
    },
  ],
  [
    "the entry of another test",
    "test-without-entry",
    (lines) => {
      const tests = ofKind(lines, "test").filter((line) => line.entry !== null);
      tests[0].entry = tests[1].entry;
    },
  ],
  [
    "a record called amended that no entry stands in for",
    "test-state",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.state = "amended";
      }),
  ],
  [
    "what stands in for an amended record left out",
    "test-state",
    (lines) => {
      lines.splice(lines.indexOf(entryOf(lines, "meterTest.amend")), 1);
      renumber(lines);
    },
  ],
  [
    "a record called withdrawn that was not",
    "test-differs",
    (lines) =>
      withText(aTest(lines), (test) => {
        test.state = "withdrawn";
      }),
  ],
  [
    "a record beside an entry of something else",
    "test-without-entry",
    (lines) => {
      const line = aTest(lines);
      line.entry = null;
      withText(line, (test) => {
        test.entryId = JSON.parse(entryOf(lines, "lot.draw").text).id;
      });
    },
  ],
  // Entries, and what was typed
  [
    "a reading in an entry",
    "not-in-the-log",
    (lines) =>
      withPayload(aTest(lines).entry, (payload) => {
        payload.points[0].registrationPercent = "99.1";
      }),
  ],
  [
    "what was typed",
    "test-judged-otherwise",
    (lines) =>
      withPayload(aTest(lines).entry, (payload) => {
        bendRun(payload);
      }),
  ],
  [
    "a verdict that an entry tells",
    "test-judged-otherwise",
    (lines) =>
      withPayload(aTest(lines).entry, (payload) => {
        payload.verdictAsFound = "fail";
      }),
  ],
  [
    "a reading that an entry tells",
    "test-judged-otherwise",
    (lines) =>
      withPayload(aTest(lines).entry, (payload) => {
        payload.points[0].registrationPercent = "99.1";
      }),
  ],
  [
    "who recorded a test",
    "not-in-the-log",
    (lines) =>
      withText(aTest(lines).entry, (entry) => {
        entry.actorId = entry.id;
      }),
  ],
  [
    "the time of an entry",
    "not-in-the-log",
    (lines) =>
      withText(aTest(lines).entry, (entry) => {
        entry.at = "2020-01-01T00:00:00.000Z";
      }),
  ],
  [
    "the rows of an entry",
    "not-in-the-log",
    (lines) => {
      aTest(lines).entry.rows.count += 1;
    },
  ],
  [
    "the place of an entry",
    "not-in-the-log",
    (lines) => {
      aTest(lines).entry.index += 1;
    },
  ],
  [
    "a hash of the proof",
    "not-in-the-log",
    (lines) => {
      const [proof] = ofKind(lines, "proof");
      proof.hashes[0] = flipped(proof.hashes[0]);
    },
  ],
  [
    "a hash of the proof missing",
    "not-in-the-log",
    (lines) => {
      ofKind(lines, "proof")[0].hashes.pop();
    },
  ],
  [
    "a hash of the proof too many",
    "not-in-the-log",
    (lines) => {
      const [proof] = ofKind(lines, "proof");
      proof.hashes.push(proof.hashes[0]);
    },
  ],
  [
    "the size of the proof",
    "not-in-the-log",
    (lines) => {
      ofKind(lines, "proof")[0].size += 1;
    },
  ],
  // The report
  [
    "a count of the report",
    "report-differs",
    (lines) =>
      withText(ofKind(lines, "report")[0], (body) => {
        body.summary.divisions[0].rows[0].tests += 1;
      }),
  ],
  [
    "a band of the report",
    "figures-differ",
    (lines) =>
      withText(ofKind(lines, "report")[0], (body) => {
        const { classes } = body.summary.divisions[0].rows[0].measures[0];
        classes[5] += 1;
      }),
  ],
  [
    "the report's count of tests",
    "manifest-count",
    (lines) =>
      withText(ofKind(lines, "report")[0], (body) => {
        body.manifest.tests -= 1;
      }),
  ],
  [
    "a standard's count",
    "standards-differ",
    (lines) =>
      withText(ofKind(lines, "report")[0], (body) => {
        body.standards[0].tests += 1;
      }),
  ],
  [
    "the outcome of a lot",
    "lot-differs",
    (lines) =>
      withText(ofKind(lines, "report")[0], (body) => {
        const [lot] = body.lots;
        lot.outcome = lot.outcome === "accepted" ? "not-accepted" : "accepted";
      }),
  ],
  [
    "the day of a decision",
    "lot-date-differs",
    (lines) =>
      withText(ofKind(lines, "report")[0], (body) => {
        body.lots[0].decidedOn = nextDay(body.lots[0].decidedOn);
      }),
  ],
  [
    "an approval by somebody who tested a meter of the sample",
    "decision-not-approved",
    (lines) => {
      const [lot] = ofKind(lines, "lot");
      const entries = ofKind(lines, "entry").map((line) => ({ line, ...JSON.parse(line.text) }));
      const decided = entries.find(
        ({ action, subjectId }) => action === "lot.decide" && subjectId === lot.id,
      );
      const { testId } = JSON.parse(decided.payload).tests.find((one: Line) => one.counted);
      const tested = [...ofKind(lines, "test").flatMap(({ entry }) => entry ?? []), ...ofKind(lines, "entry")]
        .map((line) => JSON.parse(line.text))
        .find(({ subjectId }) => subjectId === testId);
      const approved = entries.find(
        ({ action, subjectId }) => action === "lot.approve" && subjectId === lot.id,
      );
      withText(approved.line, (entry) => {
        entry.actorId = JSON.parse(tested.payload).testerId;
      });
    },
  ],
  [
    "a lot left out",
    "lot-missing",
    (lines) => {
      lines.splice(lines.indexOf(ofKind(lines, "lot")[0]), 1);
      renumber(lines);
    },
  ],
  [
    "the title of the report",
    "report-differs",
    (lines) =>
      withText(ofKind(lines, "report")[0], (body) => {
        body.title = "Another";
      }),
  ],
  [
    "the release left out",
    "report-not-released",
    (lines) => {
      lines.splice(lines.indexOf(entryOf(lines, "report.release")), 1);
      renumber(lines);
    },
  ],
  [
    "a signature left out",
    "report-not-signed",
    (lines) => {
      lines.splice(lines.indexOf(entryOf(lines, "report.sign")), 1);
      renumber(lines);
    },
  ],
  [
    "the draft left out, which says who may not review",
    "report-not-drafted",
    (lines) => {
      lines.splice(lines.indexOf(entryOf(lines, "report.draft")), 1);
      renumber(lines);
    },
  ],
  [
    "a draft by its reviewer",
    "report-not-signed",
    (lines) => {
      const { actorId } = JSON.parse(entryOf(lines, "report.fix").text);
      withText(entryOf(lines, "report.draft"), (entry) => {
        entry.actorId = actorId;
      });
    },
  ],
  // Rules, plans, calibrations
  [
    "the approval of the rules left out",
    "profile-not-approved",
    (lines) => {
      const { id } = ofKind(lines, "profile").find((line) => line.key === "us-nc");
      const approvals = ofKind(lines, "entry").filter((line) => {
        const { action, subjectId } = JSON.parse(line.text);
        return action === "profile.decide" && subjectId === id;
      });
      for (const line of approvals) lines.splice(lines.indexOf(line), 1);
      renumber(lines);
    },
  ],
  [
    "a limit of the rules",
    "profile-differs",
    (lines) =>
      withText(
        ofKind(lines, "profile").find((line) => line.key === "us-nc"),
        (profile) => {
          profile.limits[0].limits.maxPercent = "103";
        },
      ),
  ],
  [
    "a point of a test plan",
    "plan-differs",
    (lines) =>
      withText(ofKind(lines, "plan")[0], (plan) => {
        plan.points[0].role = "none";
      }),
  ],
  [
    "a calibration's due date",
    "calibration-differs",
    (lines) => {
      ofKind(lines, "calibration")[0].dueOn = "2099-01-01";
    },
  ],
  [
    "a calibration's points",
    "calibration-differs",
    (lines) => {
      const [line] = ofKind(lines, "calibration");
      const points = JSON.parse(line.points);
      points[0].registrationPercent = "100.5";
      line.points = text(points);
    },
  ],
  [
    "a swapped standard",
    "standard-swapped",
    (lines) => {
      for (const line of ofKind(lines, "calibration")) line.standardId = line.id;
    },
  ],
  // Draws and decisions
  [
    "a seed",
    "seed-differs",
    (lines) => {
      ofKind(lines, "lot")[0].draws[0].seed += "1";
    },
  ],
  [
    "a list",
    "list-differs",
    (lines) => {
      ofKind(lines, "lot")[0].draws[0].candidates[0] += "0";
    },
  ],
  [
    "a sample's size",
    "draw-differs",
    (lines) => {
      ofKind(lines, "lot")[0].draws[0].n += 1;
    },
  ],
  [
    "a reading of a sample",
    "decision-differs",
    (lines) => {
      bendPlace(ofKind(lines, "lot")[0]);
    },
  ],
  [
    "a meter of a sample",
    "meter-not-drawn",
    (lines) => {
      ofKind(lines, "lot")[0].places[0].meter = "nobody";
    },
  ],
  [
    "a meter of another place of a sample",
    "meter-not-drawn",
    (lines) => {
      const { places } = ofKind(lines, "lot")[0];
      places[0].meter = places[1].meter;
    },
  ],
  [
    "a draw left out with its entry",
    "draw-differs",
    (lines) => {
      const [lot] = ofKind(lines, "lot");
      lot.draws = [];
      const draws = ofKind(lines, "entry").filter((line) => {
        const { action, subjectId } = JSON.parse(line.text);
        return action === "lot.draw" && subjectId === lot.id;
      });
      for (const line of draws) lines.splice(lines.indexOf(line), 1);
      renumber(lines);
    },
  ],
  [
    "a scheme's limits",
    "scheme-differs",
    (lines) => {
      const [lot] = ofKind(lines, "lot");
      const scheme = JSON.parse(lot.scheme);
      scheme.characteristics[0].limits.maxPercent = "110";
      lot.scheme = JSON.stringify(scheme);
    },
  ],
  [
    "a plan's numbers",
    "plan-of-lot-differs",
    (lines) => {
      const [lot] = ofKind(lines, "lot");
      const plan = JSON.parse(lot.plan);
      plan.characteristics[0].severity = "reduced";
      lot.plan = JSON.stringify(plan);
    },
  ],
  // The head, the names, the file
  [
    "the size of the head",
    "head-not-signed",
    (lines) => {
      const [head] = ofKind(lines, "head");
      head.note = head.note.replace(/\n\d+\n/, "\n7\n");
    },
  ],
  [
    "the root of the head",
    "head-not-signed",
    (lines) => {
      const [head] = ofKind(lines, "head");
      head.note = head.note
        .replace(/\n(.)/g, (_: string, c: string) => `\n${c}`)
        .replace(/=\n\n/, (m: string) => m)
        .replace(
          /\n([A-Za-z0-9+/])([A-Za-z0-9+/]{42}=)\n/,
          (_: string, a: string, b: string) => `\n${a === "A" ? "B" : "A"}${b}\n`,
        );
    },
  ],
  [
    "a name",
    "name-differs",
    (lines) => {
      ofKind(lines, "name")[0].name = "Somebody Else";
    },
  ],
  [
    "the end cut off",
    "cut-short",
    (lines) => {
      lines.splice(lines.length - 1, 1);
    },
  ],
  [
    "a line that nobody checks",
    "line-not-readable",
    (lines) => {
      lines.splice(1, 0, { kind: "note", text: "All is well." });
      renumber(lines);
    },
  ],
];

function nextDay(date: string): string {
  return new Date(Date.parse(date) + 86_400_000).toISOString().slice(0, 10);
}

function flipped(hash: string): string {
  return `${hash.startsWith("0") ? "1" : "0"}${hash.slice(1)}`;
}

function bendRun(payload: Line): void {
  const [run] = payload.entered.outcome.asFound.points[0].runs;
  if ("registrationPercent" in run) run.registrationPercent = "97.3";
  else run.counts = String(Number(run.counts) + 1);
}

function bendPlace(lot: Line): void {
  const place = lot.places.find((one: Line) => one.outcome.kind === "tested");
  for (const role of Object.keys(place.outcome.readings)) place.outcome.readings[role] = "90";
  place.outcome.average = "90";
}

describe("an evidence bundle", () => {
  it("holds as it was handed out, against the key and a head that were kept elsewhere", async () => {
    const verification = await verify(untouched, `${released.key}\n${released.earlierHead}`);
    expect(namesIn(verification)).toEqual([]);
    expect(verification).toMatchObject({ holds: true, holdsFully: true });
    expect(verification.parts.map(({ part }) => part)).toEqual([
      "The file",
      "The signed head",
      "The log",
      "The report",
      "Rules, test plans and calibrations",
      "Records of tests",
      "Completeness",
      "Figures",
      "Lots",
      "Names",
    ]);
  }, 120_000);

  it("says “key unknown” to somebody who holds nothing", async () => {
    const verification = await verify(untouched, "");
    expect(namesIn(verification)).toEqual(["key-unknown"]);
    expect(verification).toMatchObject({ holds: true, holdsFully: false });
  }, 120_000);

  it("is compared with the foot of a paper", async () => {
    const size = released.earlierSize;
    const [, , root = ""] = released.earlierHead.split("\n");
    const hex = Buffer.from(root, "base64").toString("hex");
    const [log] = released.earlierHead.split("\n");
    const paper = (digits: string) => `Log ${log}, ${size} entries, root ${digits}, key 00000000`;
    expect(namesIn(await verify(untouched, paper(hex.slice(0, 32))))).toEqual(["key-unknown"]);
    expect(namesIn(await verify(untouched, paper(flipped(hex.slice(0, 32)))), "wrong")).toEqual([
      "history-rewritten",
    ]);
    expect(
      namesIn(await verify(untouched, `Log ${log}, 3 entries, root ${hex.slice(0, 32)}`), "unknown"),
    ).toContain("held-head-not-compared");
  }, 240_000);

  it("is bent here in at least fifty ways", () => {
    expect(tamperings.length).toBeGreaterThanOrEqual(50);
    expect(new Set(tamperings.map(([what]) => what)).size).toBe(tamperings.length);
  });

  it.each(tamperings)(
    "names a tampering: %s",
    async (_, named, bend) => {
      const lines = parse();
      bend(lines);
      const verification = await verify(lines.map((line) => text(line)));
      expect(namesIn(verification, "wrong")).toContain(named);
      expect(verification.holds).toBe(false);
    },
    120_000,
  );

  it("rebuilt whole with a new key is named to whoever holds the old key or an earlier head, and to nobody else", async () => {
    const rebuilt = rebuiltWithNewKey();
    const alone = await verify(rebuilt, "");
    expect(alone.holds).toBe(true);
    expect(namesIn(alone)).toEqual(["key-unknown"]);
    expect(namesIn(await verify(rebuilt, released.key), "wrong")).toContain("key-differs");
    expect(namesIn(await verify(rebuilt, released.earlierHead), "wrong")).toContain("key-differs");
  }, 240_000);
});

/** A bundle whose records say something else, with log, proof and head made anew by somebody who has no key of the log. */
function rebuiltWithNewKey(): string[] {
  const lines = parse();
  const [head] = ofKind(lines, "head");
  const key = readNoteKey(head.key);
  if (key.kind !== "accepted") throw new Error("the bundle's key can be read");
  const opened = openCheckpoint(head.note, [key.key]);
  if (opened.kind !== "accepted") throw new Error("the bundle's head is signed");
  withPayload(aTest(lines).entry, (payload) => {
    payload.entered.remarks = "Nothing to see here";
  });
  const leaves = lines
    .flatMap((line) => (line.kind === "entry" ? [line] : (line.entry ?? [])))
    .map(({ index, text: entry, rows }: Line) => ({
      index,
      hash:
        rows === null
          ? leafHash(utf8(entry))
          : leafHash(utf8(text({ entry: toHex(leafHash(utf8(entry))), format: 2, rows }))),
    }))
    .sort((a: Line, b: Line) => a.index - b.index);
  const [proof] = ofKind(lines, "proof");
  const made = rootFromMany(leaves, proof.size, proof.hashes.map(fromHex));
  if (made.kind !== "root") throw new Error("the proof has its length");
  const signer = {
    name: opened.checkpoint.origin,
    seed: new Uint8Array(createHash("sha256").update(randomBytes(32)).digest()),
  };
  head.note = writeCheckpoint({ size: proof.size, root: made.root }, signer);
  head.key = writeNoteKey(keyOfSigner(signer));
  return lines.map((line) => text(line));
}
