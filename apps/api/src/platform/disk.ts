import { statfs } from "node:fs/promises";
import type { Config } from "../config.ts";
import { ProblemError } from "./problem-error.ts";

type DiskConfig = Pick<Config, "SEALBOOK_DATA_FOLDER" | "DISK_RESERVE_MEGABYTES">;

/**
 * Room on the disk of the data folder, where the embedded database lives too.
 *
 * @returns megabytes (2^20 bytes) that this account may still write; null where the folder cannot be asked
 */
export async function freeMegabytes(
  config: Pick<DiskConfig, "SEALBOOK_DATA_FOLDER">,
): Promise<number | null> {
  try {
    const { bavail, bsize } = await statfs(config.SEALBOOK_DATA_FOLDER);
    return (bavail * bsize) / 1_048_576;
  } catch {
    return null;
  }
}

/**
 * Keeps what fills disks, imports and files, out of the room that is left for the day's tests.
 *
 * @returns what is wrong, as a sentence; null while more than the reserve is free
 */
export async function nearlyFull(config: DiskConfig): Promise<string | null> {
  const free = await freeMegabytes(config);
  if (free === null || free >= config.DISK_RESERVE_MEGABYTES) return null;
  return `The disk is nearly full: ${Math.floor(free)} MB are left, and the last ${config.DISK_RESERVE_MEGABYTES} MB are kept for tests. Tell an administrator to make room.`;
}

/** @throws ProblemError storage-full when less than the reserve is free */
export async function refuseWhenNearlyFull(config: DiskConfig): Promise<void> {
  const sentence = await nearlyFull(config);
  if (sentence !== null) throw new ProblemError("storage-full", `${sentence} Nothing was changed.`);
}
