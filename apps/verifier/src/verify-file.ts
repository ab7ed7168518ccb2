import { readHeld } from "@sealbook/verification/read-held";
import { type Verification, verifyBundle } from "@sealbook/verification/verify-bundle";
import { linesOf } from "./lines-of.ts";

/** What the page asks of the worker. */
export interface Question {
  readonly file: Blob;
  /** What the stranger holds from elsewhere, as it was pasted. */
  readonly held: string;
}

/** What the worker answers, as it goes on and at the end. */
export type Answer =
  | { readonly kind: "progress"; readonly part: "form" | "tests"; readonly lines: number }
  | { readonly kind: "verified"; readonly verification: Verification }
  | { readonly kind: "failed"; readonly sentence: string };

/** Verifies a file and says how far it is. */
export async function verifyFile({ file, held }: Question, answer: (answer: Answer) => void): Promise<void> {
  try {
    const verification = await verifyBundle(
      () => linesOf(file),
      readHeld(held),
      (part, lines) => answer({ kind: "progress", part, lines }),
    );
    answer({ kind: "verified", verification });
  } catch (error) {
    answer({
      kind: "failed",
      sentence:
        error instanceof TypeError
          ? "This file cannot be unpacked: it is no evidence bundle, or was damaged on its way."
          : `The file could not be read: ${(error as Error).message}`,
    });
  }
}
