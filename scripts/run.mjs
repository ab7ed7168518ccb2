// The one door to every command of the project: `node scripts/run.mjs <command>`. It uses Node alone, because
// in a fresh clone nothing else is there yet, and first brings the checkout up to date: packages, the
// generated database client and the built page, each only when its sources changed.

import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));

const usage = `Usage: npm run <command>, or node scripts/run.mjs <command>

  start       serve Sealbook with its own PostgreSQL, or with the one that DATABASE_URL names
  test        every check and every test; names of files or options go to vitest alone
  check       types, format and lint, laws of the house, unused code
  dev         serve with reload: the API and the page's development server
  calc        recompute a figure: npm run -s calc -- --help
  load-demo   fill a database with a made-up utility of any size: npm run load-demo -- --help
  verify      hold the ledger against its log: npm run verify -- --help
  faults      kill service and database under people at work: npm run faults -- --kills 500
  rotate-log-key  sign the log by a new key: npm run rotate-log-key -- --help
  export-log  write the log into a file that is checked without the database: npm run export-log -- --out FILE
  verify-page write the page that verifies bundles without a network, and its hash: npm run verify-page -- --out FOLDER
  backup      copy the database into a folder: npm run backup -- --out FOLDER
  restore     put a backup into an empty database: npm run restore -- --from FOLDER
  bench       measure speeds: all of tests/bench, or the ones named
  demo-reset  throw the embedded database away, so that the next start loads the demo shop
  generate    the database client from prisma/schema.prisma
  prepare     everything that start needs, without starting
`;

refuseOldNode();
// What is imported below may use the language of the Node that is asked for.
const { prepare } = await import("./prepare.mjs");
const [command, ...commandArguments] = process.argv.slice(2);

const commands = {
  async start() {
    await prepare({ client: true, page: true });
    await runHere("apps/api/src/main.ts");
  },
  async test() {
    const { test } = await import("./test.mjs");
    process.exitCode = await test(commandArguments);
  },
  async check() {
    await prepare({ client: true, page: false });
    const { check } = await import("./check.mjs");
    const { failed } = await check();
    process.exitCode = failed === 0 ? 0 : 1;
  },
  async dev() {
    await prepare({ client: true, page: true });
    const { runTogether } = await import("./run-child.mjs");
    process.exitCode = await runTogether([
      [process.execPath, "--watch", "--import", "tsx", "apps/api/src/main.ts"],
      [join(repository, "apps/web/node_modules/.bin/vite"), "apps/web"],
    ]);
  },
  async calc() {
    await prepare({ client: false, page: false });
    await runHere("apps/api/src/calc.ts");
  },
  async "load-demo"() {
    await prepare({ client: true, page: false });
    await runHere("apps/api/src/load-demo-command.ts");
  },
  async verify() {
    await prepare({ client: true, page: false });
    await runHere("apps/api/src/verify.ts");
  },
  async faults() {
    await prepare({ client: true, page: true });
    const { faults } = await import("./faults.mjs");
    process.exitCode = await faults(commandArguments);
  },
  async "verify-page"() {
    await prepare({ client: false, page: true });
    const { copyVerifier } = await import("./build-verifier.mjs");
    process.exitCode = await copyVerifier(commandArguments);
  },
  async "rotate-log-key"() {
    await prepare({ client: true, page: false });
    await runHere("apps/api/src/rotate-log-key.ts");
  },
  async "export-log"() {
    await prepare({ client: true, page: false });
    await runHere("apps/api/src/export-log.ts");
  },
  async backup() {
    await prepare({ client: true, page: false });
    await runHere("apps/api/src/backup.ts");
  },
  async restore() {
    await prepare({ client: true, page: false });
    await runHere("apps/api/src/restore.ts");
  },
  async bench() {
    await prepare({ client: true, page: false });
    const { bench } = await import("./bench.mjs");
    process.exitCode = await bench(commandArguments);
  },
  async "demo-reset"() {
    await prepare({ client: false, page: false });
    const { resetDemo } = await import("./reset-demo.mjs");
    process.exitCode = await resetDemo(commandArguments);
  },
  async generate() {
    await prepare({ client: true, page: false });
  },
  async prepare() {
    await prepare({ client: true, page: true });
  },
};

if (!Object.hasOwn(commands, command ?? "")) {
  process.stderr.write(command === undefined ? usage : `There is no command "${command}".\n\n${usage}`);
  process.exit(2);
}
try {
  await commands[command]();
} catch (error) {
  if (error.name !== "PreparationError") throw error;
  process.stderr.write(`${error.message}\n`);
  if (command === "test") process.stdout.write("0 passed, 1 failed\n");
  process.exit(1);
}

function refuseOldNode() {
  const { engines } = JSON.parse(readFileSync(join(repository, "package.json"), "utf8"));
  const [wantedMajor, wantedMinor] = /(\d+)\.(\d+)/.exec(engines.node).slice(1).map(Number);
  const [major, minor] = process.versions.node.split(".").map(Number);
  if (major > wantedMajor || (major === wantedMajor && minor >= wantedMinor)) return;
  process.stderr.write(
    `Sealbook needs Node ${wantedMajor}.${wantedMinor} or later; this is Node ${process.versions.node}.\n`,
  );
  process.exit(1);
}

/**
 * Runs a TypeScript program in this very process: there is then one process to signal and to wait for, and
 * none that outlives it.
 */
async function runHere(program) {
  const { register } = await import("tsx/esm/api");
  register();
  process.argv = [process.argv[0], join(repository, program), ...commandArguments];
  await import(new URL(`../${program}`, import.meta.url).href);
}
