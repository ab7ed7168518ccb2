import { stat } from "node:fs/promises";
import { refusalOfAddress } from "@sealbook/contract/log-heads";
import { writeHeadFile } from "../../platform/log/head-file.ts";

/** A head and what proves to a witness that it goes on from the one that they have. */
export interface HeadToDeliver {
  readonly size: number;
  readonly note: string;
  /** Consistency proof from an older size, hashes in base64. */
  proofFrom(size: number): Promise<string[]>;
}

/** What became of a delivery: what was answered, or a sentence that says why not. */
export type Delivered = { readonly answer: string } | { readonly failure: string };

const answerWithin = 10_000;
const longestAnswer = 4_096;

/** Puts a head into a folder that exists: one that is not mounted at the moment is not made up. */
export async function deliverToFolder(folder: string, head: HeadToDeliver): Promise<Delivered> {
  try {
    if (!(await stat(folder)).isDirectory()) return { failure: "This is no folder." };
    const isWritten = await writeHeadFile(folder, head.note);
    return isWritten
      ? { answer: "" }
      : {
          failure: "The folder holds a newer head of this log: this database is older than what has left it.",
        };
  } catch (error) {
    return { failure: sentenceOfFolder((error as NodeJS.ErrnoException).code) };
  }
}

/**
 * Posts a head to an address as C2SP tlog-witness has it: the size that the receiver knows, the proof from there, an
 * empty line, the signed head. A receiver that answers 409 with another size gets the proof from that one.
 *
 * Only the address that an administrator typed is asked, no redirect is followed, and little is read of the answer.
 *
 * @param known entries under the head that the receiver got last; 0 for none
 */
export async function deliverToAddress(
  address: string,
  head: HeadToDeliver,
  known: number,
): Promise<Delivered> {
  const refusal = refusalOfAddress(address);
  if (refusal !== null) return { failure: refusal };
  let old = Math.min(known, head.size);
  for (let attempt = 1; ; attempt++) {
    const proof = old === 0 ? [] : await head.proofFrom(old);
    let status: number;
    let answer: string;
    try {
      const reply = await fetch(address, {
        method: "POST",
        redirect: "manual",
        headers: { "content-type": "text/plain; charset=utf-8", accept: "text/plain" },
        body: `old ${old}\n${proof.map((hash) => `${hash}\n`).join("")}\n${head.note}`,
        signal: AbortSignal.timeout(answerWithin),
      });
      status = reply.status;
      answer = await readShort(reply);
    } catch (error) {
      return { failure: sentenceOf(error) };
    }
    if (status >= 200 && status < 300) return { answer: isCosignature(answer) ? answer : "" };
    const theirs = Number(/^(\d{1,15})\n?$/.exec(answer)?.[1] ?? Number.NaN);
    if (status === 409 && attempt === 1 && theirs <= head.size && theirs !== old) {
      old = theirs;
      continue;
    }
    if (status === 409 && theirs > head.size) {
      return {
        failure: `The receiver holds a head of ${theirs} entries, more than this log has: this database is older than what has left it.`,
      };
    }
    return { failure: `The receiver answered with status ${status}.` };
  }
}

async function readShort(reply: Response): Promise<string> {
  const chunks: Uint8Array[] = [];
  let length = 0;
  for await (const chunk of reply.body ?? []) {
    length += chunk.length;
    if (length > longestAnswer) break;
    chunks.push(chunk);
  }
  return Buffer.concat(chunks).toString("utf8");
}

/** Signature lines as C2SP signed-note has them. */
function isCosignature(answer: string): boolean {
  return /^(\u2014 \S+ \S+\n){1,10}$/u.test(answer);
}

function sentenceOfFolder(code: string | undefined): string {
  if (code === "ENOENT") return "The server has no such folder at present.";
  if (code === "EACCES" || code === "EPERM" || code === "EROFS")
    return "The service may not write into this folder.";
  if (code === "ENOSPC" || code === "EDQUOT") return "The folder's disk has no room left.";
  return `The folder cannot be written${code === undefined ? "" : ` (${code})`}.`;
}

function sentenceOf(error: unknown): string {
  const { name, cause } = error as { name?: string; cause?: { code?: string } };
  if (name === "TimeoutError") return `The receiver did not answer within ${answerWithin / 1000} seconds.`;
  return `The receiver could not be reached${cause?.code === undefined ? "" : ` (${cause.code})`}.`;
}
