// A PostgreSQL on a disk of its own that can be filled, for tests: a file system in memory that only this process and
// its children see. Started inside a namespace of its own:
//   unshare --mount node small-disk.mjs <folder> <megabytes>
// Says the database's address; then does what each line on its standard input asks for, and says so.

import { execFileSync } from "node:child_process";
import { rmSync, statfsSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";

const [folder, megabytes] = process.argv.slice(2);
execFileSync("mount", ["-t", "tmpfs", "-o", `size=${megabytes}m,mode=0711`, "tmpfs", folder]);
const ballast = join(folder, "ballast");
const start = () =>
  ensureDatabase({
    dataFolder: join(folder, "database"),
    durable: true,
    settings: { max_connections: "100", min_wal_size: "32MB", max_wal_size: "64MB", wal_init_zero: "off" },
  });
let server = await start();
const say = (what) => process.stdout.write(`${JSON.stringify(what)}\n`);
say({ adminUrl: server.adminUrl });

const commands = {
  /** Leaves so many megabytes free. */
  fill(left) {
    const { bavail, bsize } = statfsSync(folder);
    writeFileSync(ballast, Buffer.alloc(Math.max(0, bavail * bsize - Number(left) * 1_048_576)));
  },
  /** Makes room again, and starts the database if it has given up. */
  async free() {
    rmSync(ballast, { force: true });
    server = await start();
  },
  async stop() {
    await server.stop();
  },
};
for await (const line of createInterface({ input: process.stdin })) {
  const [name, argument] = line.split(" ");
  await commands[name](argument);
  say({ done: name });
  if (name === "stop") process.exit(0);
}
