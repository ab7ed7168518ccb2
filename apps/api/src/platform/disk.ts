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
 * @throws ProblemError storage-full when less than the reserve is free
 */
export async function refuseWhenDiskIsNearlyFull(config: DiskConfig): Promise<void> {
  const free = await freeMegabytes(config);
  if (free === null || free >= config.DISK_RESERVE_MEGABYTES) return;
  throw new ProblemError(
    "storage-full",
    `The disk is nearly full: ${Math.floor(free)} MB are left, and the last ${config.DISK_RESERVE_MEGABYTES} MB are kept for tests. ` +
      "Nothing was changed; tell an administrator to make room.",
  );
}
