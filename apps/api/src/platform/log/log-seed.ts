import { randomBytes } from "node:crypto";
import { link, mkdir, open, readFile, rename, rm } from "node:fs/promises";
import { join } from "node:path";
import { fromBase64 } from "@sealbook/evidence/base64";
import type { Config } from "../../config.ts";

type SeedConfig = Pick<Config, "LOG_KEY_SEED" | "LOG_KEY_SEED_RETIRING" | "SEALBOOK_DATA_FOLDER">;

/** Secret seeds of the keys that sign the log's heads, 32 bytes each. */
export interface LogSeeds {
  readonly seed: Uint8Array;
  /** Of keys that were replaced and sign beside the new one for a while. */
  readonly retiring: readonly Uint8Array[];
}

const seedPath = ({ SEALBOOK_DATA_FOLDER }: SeedConfig) => join(SEALBOOK_DATA_FOLDER, "log-key-seed");
/** Holds the seed and the moment until which it signs: base64, a space, ISO 8601. */
const retiringPath = (config: SeedConfig) => `${seedPath(config)}-retiring`;

/**
 * Secret seed of the key that signs the log's heads: the setting, else one made at first start and kept in the data
 * folder, outside the database that it vouches for. Beside it the seed that it took over from, while that one signs, too.
 *
 * @throws Error if what is kept there is no seed
 */
export async function logSeeds(config: SeedConfig, now: Date): Promise<LogSeeds> {
  if (config.LOG_KEY_SEED !== undefined) {
    const old = config.LOG_KEY_SEED_RETIRING;
    return {
      seed: seedIn(config.LOG_KEY_SEED, "LOG_KEY_SEED"),
      retiring: old === undefined ? [] : [seedIn(old, "LOG_KEY_SEED_RETIRING")],
    };
  }
  const path = seedPath(config);
  const kept = await readIfThere(path);
  if (kept === null) {
    await mkdir(config.SEALBOOK_DATA_FOLDER, { recursive: true });
    // Linked into place once it is whole on the disk: of several starting processes the first one's is kept by all.
    await place(path, newSeed(), link);
  }
  const seed = seedIn((await readFile(path, "utf8")).trim(), path);
  const [old, until] = ((await readIfThere(retiringPath(config))) ?? "").trim().split(" ");
  const stillSigns = old !== undefined && until !== undefined && Date.parse(until) > now.getTime();
  return { seed, retiring: stillSigns ? [seedIn(old, retiringPath(config))] : [] };
}

/**
 * Puts a new seed in place of the present one, which goes on signing beside it until a moment. The present one is written
 * down under its new name first, so that no moment is without either.
 *
 * @throws Error if the seed stands in a setting: whoever set it changes it there
 */
export async function replaceLogSeed(config: SeedConfig, until: Date): Promise<void> {
  if (config.LOG_KEY_SEED !== undefined) {
    throw new Error(
      "The key stands in the setting LOG_KEY_SEED: put it into LOG_KEY_SEED_RETIRING, a new one into LOG_KEY_SEED, and start anew.",
    );
  }
  const { seed } = await logSeeds(config, new Date());
  await place(
    retiringPath(config),
    `${Buffer.from(seed).toString("base64")} ${until.toISOString()}\n`,
    rename,
  );
  await place(seedPath(config), newSeed(), rename);
}

function newSeed(): string {
  return `${randomBytes(32).toString("base64")}\n`;
}

/** Writes a secret whole to the disk, then gives it its name. */
async function place(
  path: string,
  text: string,
  give: (draft: string, path: string) => Promise<void>,
): Promise<void> {
  const draft = `${path}.${randomBytes(6).toString("hex")}`;
  try {
    const file = await open(draft, "wx", 0o600);
    await file.writeFile(text);
    await file.sync();
    await file.close();
    await give(draft, path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "EEXIST") throw error;
  } finally {
    await rm(draft, { force: true });
  }
}

async function readIfThere(path: string): Promise<string | null> {
  try {
    return await readFile(path, "utf8");
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "ENOENT") return null;
    throw error;
  }
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
