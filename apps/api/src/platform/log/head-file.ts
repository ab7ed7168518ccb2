import { randomBytes } from "node:crypto";
import { open, readFile, rename, rm } from "node:fs/promises";
import { join } from "node:path";
import { type Checkpoint, readCheckpointText } from "@sealbook/evidence/checkpoint";

/** What a signed head says, without its signatures being checked; null when the text is none. */
export function headIn(note: string): Checkpoint | null {
  const read = readCheckpointText(note.slice(0, note.lastIndexOf("\n\n") + 1));
  return read.kind === "accepted" ? read.checkpoint : null;
}

/** The file in a folder that holds the newest head of a log, named after the log. */
export function headPath(folder: string, origin: string): string {
  return join(folder, `${origin.replaceAll(/[^A-Za-z0-9-]/g, "-")}.head`);
}

/** The head of a log that a folder holds; null when it holds none. */
export async function readHeadFile(folder: string, origin: string): Promise<string | null> {
  try {
    return await readFile(headPath(folder, origin), "utf8");
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "ENOENT") return null;
    throw error;
  }
}

/**
 * Keeps a head in a folder in place of an older one, whole and on the disk when it returns. A newer head of the same log
 * stays as it is: it is the one that tells when a database falls behind it.
 *
 * @param folder that exists
 * @returns whether it was written
 */
export async function writeHeadFile(folder: string, note: string): Promise<boolean> {
  const head = headIn(note);
  if (head === null) throw new Error("what is to be kept is no head of a log");
  const kept = headIn((await readHeadFile(folder, head.origin)) ?? "");
  if (kept !== null && kept.size > head.size) return false;
  const path = headPath(folder, head.origin);
  const draft = `${path}.${randomBytes(6).toString("hex")}`;
  try {
    const file = await open(draft, "wx", 0o644);
    await file.writeFile(note);
    await file.sync();
    await file.close();
    await rename(draft, path);
  } finally {
    await rm(draft, { force: true });
  }
  return true;
}

/** Puts the head of a history that is lost aside under a name of its own, so that newer ones take its place. */
export async function setHeadFileAside(folder: string, note: string): Promise<void> {
  const head = headIn(note);
  if (head === null || (await readHeadFile(folder, head.origin)) !== note) return;
  const path = headPath(folder, head.origin);
  await rename(path, `${path}.lost-${head.size}`);
}
