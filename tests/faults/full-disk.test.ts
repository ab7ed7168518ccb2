import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import { compare, verifyLog } from "./compare.ts";
import { type DatabaseKeeper, faultyService } from "./faulty-service.ts";
import { prepareShop } from "./prepared-shop.ts";
import { startWorkload } from "./workload.ts";

/** A namespace in which a file system may be mounted that nobody else sees. */
const namespace = process.getuid?.() === 0 ? ["--mount"] : ["--user", "--map-root-user", "--mount"];

/** Linux has the means, unless a container keeps them from us: then vitest says that this test was skipped. */
function canMount(): boolean {
  const mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", tmpdir()];
  return process.platform === "linux" && spawnSync("unshare", [...namespace, ...mount]).status === 0;
}

interface SmallDisk extends DatabaseKeeper {
  ask(command: string): Promise<void>;
}

/** A PostgreSQL on a file system of so many megabytes. */
async function smallDisk(folder: string, megabytes: number): Promise<SmallDisk> {
  const mountPoint = join(folder, "disk");
  mkdirSync(mountPoint, { mode: 0o711 });
  const script = fileURLToPath(new URL("small-disk.mjs", import.meta.url));
  const child: ChildProcess = spawn(
    "unshare",
    [...namespace, process.execPath, script, mountPoint, String(megabytes)],
    { stdio: ["pipe", "pipe", "inherit"] },
  );
  if (child.stdout === null) throw new Error("the child's output is a pipe");
  const lines = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const answer = async (): Promise<Record<string, string>> => {
    const { value, done } = await lines.next();
    if (done) throw new Error("the small disk's process has ended");
    return JSON.parse(value);
  };
  const { adminUrl = "" } = await answer();
  const ask = async (command: string): Promise<void> => {
    child.stdin?.write(`${command}\n`);
    await answer();
  };
  return {
    adminUrl,
    ask,
    crash: () => Promise.reject(new Error("this one is filled, not crashed")),
    stop: () => ask("stop"),
  };
}

describe.runIf(canMount())("a disk that fills up under people at work", () => {
  it("is answered with a sentence, and after there is room again nothing is lost and nothing is doubled", async () => {
    let disk: SmallDisk | undefined;
    const service = await faultyService(async (folder) => {
      disk = await smallDisk(folder, 300);
      return disk;
    });
    try {
      const shop = await prepareShop(service, 12);
      await service.startApi();
      const workload = startWorkload({ url: service.url, shop, testers: 6, all: true, keys: true });
      const { intents, tally } = workload;
      const confirmed = () => intents.filter(({ acknowledged }) => acknowledged !== null).length;
      const until = async (what: string, isSo: () => boolean): Promise<void> => {
        const end = Date.now() + 120_000;
        while (!isSo()) {
          if (Date.now() > end) throw new Error(`never came: ${what}`);
          await sleep(20);
        }
      };
      await until("the first confirmed changes", () => confirmed() > 20);
      await disk?.ask("fill 3");
      await until("a refusal", () => tally.refusals.size > 0);
      // Full for a while: everybody asks again and again.
      await sleep(4_000);
      const before = confirmed();
      await disk?.ask("free");
      await until("work going on by itself", () => confirmed() > before + 20);
      await workload.finish();

      // What people are told is one of two sentences, whichever part of the database found no room first.
      for (const refusal of tally.refusals.keys()) {
        expect(refusal).toMatch(
          /^507 \/problems\/storage-full: The database has no room left|^503 \/problems\/unavailable: The database does not answer|^503 \/problems\/unavailable: The same request is under way/,
        );
      }
      expect(tally.longest).toBeLessThan(15_000);
      const findings = await compare(service, intents);
      expect(findings.lost).toEqual([]);
      expect(findings.doubled).toEqual([]);
      expect(findings.unledgered).toEqual([]);
      expect(findings.confirmed).toBe(findings.meant);
      const { isWell, said } = await verifyLog(service);
      expect(isWell, said).toBe(true);
      process.stdout.write(
        `a full disk: ${findings.confirmed} changes confirmed, ${[...tally.refusals.values()].reduce((sum, n) => sum + n, 0)} refusals, lost ${findings.lost.length}, doubled ${findings.doubled.length}\n${[...tally.refusals].map(([what, n]) => `  ${n} x ${what}`).join("\n")}\n`,
      );
      expect(await service.stopApi()).toBe(0);
    } finally {
      await service.close();
    }
  }, 600_000);
});
