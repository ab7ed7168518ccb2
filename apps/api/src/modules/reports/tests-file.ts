import { createHash } from "node:crypto";
import type { Readable } from "node:stream";
import { createGunzip, gzipSync } from "node:zlib";
import { canonicalJson } from "@sealbook/evidence/canonical-json";
import { appendLeaf, joinSubtrees, type Subtree } from "@sealbook/evidence/frontier";
import type { ReportedPass, ReportedTest } from "@sealbook/metrology/reports/reported-test";

const pieceCharacters = 4_194_304;
const leafPrefix = Buffer.of(0);

export interface FinishedTests {
  readonly count: number;
  /** RFC 6962 root over the texts, in hexadecimal. */
  readonly root: string;
  /** The texts, one a line, as gzip. */
  readonly bytes: Buffer;
}

/** The texts of a period's records, hashed and compressed as they come. */
export interface TestsFile {
  add(test: ReportedTest): void;
  finish(): FinishedTests;
}

/** Canonical text of a record: what the period's manifest hashes. */
export function textOf(test: ReportedTest): string {
  return canonicalJson({
    ...test,
    reasons: [...test.reasons],
    asFound: passData(test.asFound),
    asLeft: passData(test.asLeft),
  });
}

function passData(pass: ReportedPass | null) {
  return pass === null ? null : { ...pass, outside: [...pass.outside] };
}

export function testsFile(): TestsFile {
  const frontier: Subtree[] = [];
  const pieces: Buffer[] = [];
  let lines: string[] = [];
  let length = 0;
  let count = 0;
  const flush = () => {
    if (lines.length > 0) pieces.push(gzipSync(`${lines.join("\n")}\n`, { level: 3 }));
    lines = [];
    length = 0;
  };
  return {
    add(test) {
      const text = textOf(test);
      appendLeaf(
        frontier,
        new Uint8Array(createHash("sha256").update(leafPrefix).update(text, "utf8").digest()),
      );
      lines.push(text);
      length += text.length;
      count += 1;
      if (length >= pieceCharacters) flush();
    },
    finish() {
      flush();
      const root = joinSubtrees(frontier.map(({ hash }) => hash));
      return {
        count,
        root: Buffer.from(root).toString("hex"),
        bytes: pieces.length === 0 ? gzipSync("") : Buffer.concat(pieces),
      };
    },
  };
}

/** Lines of a file that finish() made, as they were hashed. */
export async function* linesOf(file: Readable): AsyncGenerator<string> {
  let rest = "";
  const text = file.pipe(createGunzip()).setEncoding("utf8");
  // An error of the one stream is an error of the other, which is the one that is read.
  file.on("error", (error) => text.destroy(error));
  for await (const chunk of text as AsyncIterable<string>) {
    const lines = (rest + chunk).split("\n");
    rest = lines.pop() ?? "";
    yield* lines;
  }
}

/** A record as its text has it. */
export function readText(line: string): ReportedTest {
  return JSON.parse(line) as ReportedTest;
}
