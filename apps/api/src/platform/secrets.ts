import { hash, verify } from "@node-rs/argon2";
import { ProblemError } from "./problem-error.ts";

/** Argon2id with 19 MiB, two passes, one lane. @source OWASP Password Storage Cheat Sheet, second listed setting */
const argon2id = 2;
const strength = { algorithm: argon2id, memoryCost: 19_456, timeCost: 2, parallelism: 1 };

/** Hashing is dear on purpose; a crowd at the door must not take all memory. */
const mostAtOnce = 4;
const mostWaiting = 50;
let running = 0;
const waiting: (() => void)[] = [];

async function inTurn<Result>(work: () => Promise<Result>): Promise<Result> {
  if (running >= mostAtOnce) {
    if (waiting.length >= mostWaiting)
      throw new ProblemError(
        "unavailable",
        "Too many people sign in at this moment; try again in a few seconds.",
      );
    await new Promise<void>((resolve) => waiting.push(resolve));
  } else {
    running++;
  }
  try {
    return await work();
  } finally {
    // The place passes straight to the next in line, so the count stays as it is.
    const next = waiting.shift();
    if (next) next();
    else running--;
  }
}

/** Whether a hash was made with today's strength. */
export function isHashedAsNow(hashed: string): boolean {
  const { memoryCost, timeCost, parallelism } = strength;
  return hashed.startsWith(`$argon2id$v=19$m=${memoryCost},t=${timeCost},p=${parallelism}$`);
}

export function hashSecret(secret: string): Promise<string> {
  return inTurn(() => hash(secret.normalize("NFKC"), strength));
}

/** Whether the secret is the hashed one; false too for a hash that cannot be read. */
export function verifySecret(hashed: string, secret: string): Promise<boolean> {
  return inTurn(() => verify(hashed, secret.normalize("NFKC")).catch(() => false));
}
