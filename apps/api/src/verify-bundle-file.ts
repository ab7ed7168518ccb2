import { createReadStream } from "node:fs";
import { createInterface } from "node:readline";
import { createGunzip } from "node:zlib";
import type { HeldOutside } from "@sealbook/verification/read-held";
import { type Verification, verifyBundle } from "@sealbook/verification/verify-bundle";

/**
 * Verifies the evidence bundle in a file, and says in sentences what holds, what does not, and what cannot be known. The
 * offline page asks the same function.
 *
 * @param held keys and heads that were kept elsewhere
 * @throws Error if the file cannot be read or unpacked
 */
export async function verifyBundleFile(
  path: string,
  held: HeldOutside,
): Promise<{ verification: Verification; lines: string[] }> {
  const verification = await verifyBundle(() => linesOf(path), held);
  return { verification, lines: sentencesOf(verification) };
}

async function* linesOf(path: string): AsyncGenerator<string> {
  const file = createReadStream(path);
  const unpacked = createGunzip();
  file.on("error", (error) => unpacked.destroy(error));
  file.pipe(unpacked);
  yield* createInterface({ input: unpacked, crlfDelay: Number.POSITIVE_INFINITY });
}

function sentencesOf({ report, head, parts, cannotBeKnown, holds, holdsFully }: Verification): string[] {
  return [
    ...(report === null
      ? []
      : [
          `${report.title}, ${report.shop}: ${report.from} to ${report.to}, edition ${report.edition}, SHA-256 ${report.sha256}`,
        ]),
    ...(head === null ? [] : [`Log ${head.origin}, ${head.size} entries.`]),
    "",
    ...parts.flatMap(({ part, holds: sentence, findings }) => {
      const isWrong = findings.some(({ kind }) => kind === "wrong");
      return [
        `${part}: ${isWrong ? "does not hold." : findings.length > 0 ? "cannot all be told." : "holds."}${
          isWrong || sentence === "" ? "" : ` ${sentence}`
        }`,
        ...findings.map(({ name, sentence: found }) => `  ${name}: ${found}`),
      ];
    }),
    "",
    holdsFully
      ? "Everything here holds."
      : holds
        ? "Nothing here is wrong, but not everything could be told."
        : "This bundle does not hold.",
    "",
    "What this cannot know:",
    ...cannotBeKnown.map((sentence) => `- ${sentence}`),
  ];
}
