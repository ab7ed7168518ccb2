import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { ProblemError } from "../../platform/problem-error.ts";

const page = new URL("../../../../verifier/dist/verify-bundle.html", import.meta.url);

/**
 * The page that verifies a bundle without a network, as it was built with this version of the service, and its hash: what is
 * published once, apart from any bundle.
 *
 * @throws ProblemError not-found where the service was started without building it
 */
export async function verifyPage(): Promise<{ bytes: Buffer; sha256: string }> {
  try {
    const bytes = await readFile(page);
    return { bytes, sha256: createHash("sha256").update(bytes).digest("hex") };
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
    throw new ProblemError(
      "not-found",
      "The verification page was not built with this service: npm run verify-page builds it.",
    );
  }
}
