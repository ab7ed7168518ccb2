import { parseArgs } from "node:util";
import { ensureDatabase } from "../../../scripts/embedded-postgres.mjs";
import type { Config } from "./config.ts";

/**
 * Reads a command's options, each of which takes a text. Where help was asked for, or an option cannot be used, says how
 * the command is used and ends the process: with 0, or with 2.
 *
 * @param names  of the options, without their dashes
 * @param read   makes of them what the command works with; what it throws is told to whoever typed them
 */
export function readOptions<Name extends string, Read>(
  usage: string,
  names: readonly Name[],
  read: (values: Partial<Record<Name, string>>) => Read,
): Read {
  try {
    const { values } = parseArgs({
      options: {
        ...Object.fromEntries(names.map((name) => [name, { type: "string" as const }])),
        help: { type: "boolean" },
      },
    });
    if (values.help === true) {
      process.stdout.write(usage);
      process.exit(0);
    }
    return read(values as Partial<Record<Name, string>>);
  } catch (error) {
    process.stderr.write(`${(error as Error).message}\n\n${usage}`);
    process.exit(2);
  }
}

/**
 * The database that a command works on, as the role that owns it: the one that DATABASE_URL names, else the embedded one.
 *
 * @returns its address, and what ends the embedded one where this command started it
 */
export async function databaseOf(config: Config): Promise<{ url: string; stop: () => Promise<void> }> {
  if (config.DATABASE_URL !== undefined) return { url: config.DATABASE_URL, stop: async () => {} };
  const embedded = await ensureDatabase({ dataFolder: config.SEALBOOK_DATA_FOLDER });
  return { url: embedded.adminUrl, stop: () => embedded.stop() };
}
