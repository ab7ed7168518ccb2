import { randomBytes } from "node:crypto";
import { link, mkdir, open, readFile, rm } from "node:fs/promises";
import { join } from "node:path";
import { fromBase64 } from "@sealbook/evidence/base64";
import type { Config } from "../../config.ts";

/**
 * Secret seed of the key that signs the log's heads: the setting, else one made at first start and kept in the data
 * folder, outside the database that it vouches for.
 *
 * @returns 32 secret bytes
 * @throws Error if what is kept there is no seed
 */
export async function logSeed(
  config: Pick<Config, "LOG_KEY_SEED" | "SEALBOOK_DATA_FOLDER">,
): Promise<Uint8Array> {
  if (config.LOG_KEY_SEED !== undefined) return seedIn(config.LOG_KEY_SEED, "LOG_KEY_SEED");
  const path = join(config.SEALBOOK_DATA_FOLDER, "log-key-seed");
  try {
    return seedIn((await readFile(path, "utf8")).trim(), path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
  }
  await mkdir(config.SEALBOOK_DATA_FOLDER, { recursive: true });
  // Linked into place once it is whole on the disk: of several starting processes the first one's is kept by all.
  const draft = `${path}.${randomBytes(6).toString("hex")}`;
  try {
    const file = await open(draft, "wx", 0o600);
    await file.writeFile(`${randomBytes(32).toString("base64")}\n`);
    await file.sync();
    await file.close();
    await link(draft, path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "EEXIST") throw error;
  } finally {
    await rm(draft, { force: true });
  }
  return seedIn((await readFile(path, "utf8")).trim(), path);
}

function seedIn(text: string, place: string): Uint8Array {
  const seed = fromBase64(text);
  if (seed?.length !== 32) {
    throw new Error(
      `${place} holds no key of the log: it is the base64 of 32 bytes. Put back the one that was there.`,
    );
  }
  return seed;
}
