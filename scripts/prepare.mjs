import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { hashFiles } from "./hash-files.mjs";
import { holdLock } from "./hold-lock.mjs";
import { runChild } from "./run-child.mjs";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));
const stamps = join(repository, "node_modules", ".sealbook");
const clientFolder = join(repository, "apps/api/src/platform/prisma");
const pageFolder = join(repository, "apps/web/dist");

/** Something that a person has to mend before the command can run; its message is all they need. */
class PreparationError extends Error {
  name = "PreparationError";
}

/**
 * Brings the checkout up to date, each step only when its sources changed. Everything that the steps print
 * goes to standard error, so that a command's own standard output stays clean.
 *
 * @param {{ client: boolean, page: boolean }} wanted the generated database client; the built pages
 */
export async function prepare({ client, page }) {
  const steps = [client ? clientStep : null, page ? pageStep : null, page ? verifierStep : null].filter(
    Boolean,
  );
  if (isDone(installStep) && steps.every(isDone)) return;
  await holdLock(
    `prepare ${repository}`,
    async () => {
      await bring(installStep);
      const results = await Promise.allSettled(steps.map(bring));
      for (const { reason } of results) if (reason) throw reason;
    },
    () => say("Waiting for another Sealbook command that prepares this checkout."),
  );
}

const installStep = {
  name: "install",
  what: "Installing packages",
  inputs: () => [
    "package.json",
    "pnpm-lock.yaml",
    "pnpm-workspace.yaml",
    "patches",
    ...["prisma", "tests", ...foldersIn("apps"), ...foldersIn("packages")].map(
      (path) => `${path}/package.json`,
    ),
  ],
  output: join(repository, "node_modules", ".modules.yaml"),
  async run() {
    const { packageManager } = JSON.parse(readFileSync(join(repository, "package.json"), "utf8"));
    const npx = npxCommand();
    const pnpm = [...npx, "--yes", packageManager, "install", "--frozen-lockfile"];
    // Without CI pnpm may ask before it replaces a folder, and nobody is there to answer.
    // With NODE_ENV=production it would leave out what builds the page.
    return runChild(pnpm, { output: "stderr", environment: { CI: "true", NODE_ENV: undefined } });
  },
};

const clientStep = {
  name: "client",
  what: "Generating the database client",
  inputs: () => ["prisma/schema.prisma", "prisma.config.ts", "pnpm-lock.yaml"],
  output: clientFolder,
  async run() {
    const prisma = join(repository, "node_modules/prisma/build/index.js");
    return runChild([process.execPath, prisma, "generate"], {
      output: "stderr",
      environment: {
        CHECKPOINT_DISABLE: "1",
        PRISMA_HIDE_UPDATE_MESSAGE: "1",
        // The command would download an engine that generating does not use. Any program stands in for it.
        PRISMA_SCHEMA_ENGINE_BINARY: process.env.PRISMA_SCHEMA_ENGINE_BINARY || process.execPath,
      },
    });
  },
};

const pageStep = {
  name: "page",
  what: "Building the page",
  inputs: () => ["apps/web", "packages", "tsconfig.base.json", "pnpm-lock.yaml"],
  output: join(pageFolder, "index.html"),
  async run() {
    const vite = join(repository, "apps/web/node_modules/vite/bin/vite.js");
    return runChild([process.execPath, vite, "build", "--logLevel", "warn"], {
      output: "stderr",
      folder: join(repository, "apps/web"),
      environment: { NODE_ENV: "production" },
    });
  },
};

const verifierStep = {
  name: "verifier",
  what: "Building the verification page",
  inputs: () => [
    "apps/verifier",
    "apps/web/src/ui",
    "packages",
    "scripts/build-verifier.mjs",
    "pnpm-lock.yaml",
  ],
  output: join(repository, "apps/verifier/dist/verify-bundle.html"),
  async run() {
    return runChild([process.execPath, join(repository, "scripts/build-verifier.mjs")], {
      output: "stderr",
      environment: { NODE_ENV: "production" },
    });
  },
};

function foldersIn(folder) {
  return readdirSync(join(repository, folder)).map((name) => `${folder}/${name}`);
}

function fingerprint({ inputs }) {
  const machine = `${process.platform} ${process.arch} ${process.versions.modules}`;
  return `${machine} ${hashFiles(repository, inputs())}`;
}

function isDone(step) {
  const stamp = join(stamps, step.name);
  return existsSync(step.output) && existsSync(stamp) && readFileSync(stamp, "utf8") === fingerprint(step);
}

async function bring(step) {
  if (isDone(step)) return;
  const stamp = join(stamps, step.name);
  rmSync(stamp, { force: true });
  const before = fingerprint(step);
  const began = Date.now();
  say(`${step.what} ...`);
  const code = await step.run();
  if (code !== 0)
    throw new PreparationError(`${step.what} failed (exit code ${code}); the reason stands above.`);
  mkdirSync(stamps, { recursive: true });
  writeFileSync(stamp, before);
  say(`${step.what} took ${((Date.now() - began) / 1000).toFixed(1)} s.`);
}

/** The npx of the npm that started us, else the one beside this Node, else whichever the path finds. */
function npxCommand() {
  const candidates = [
    process.env.npm_execpath?.endsWith("npm-cli.js") ? dirname(process.env.npm_execpath) : null,
    join(dirname(process.execPath), "../lib/node_modules/npm/bin"),
    join(dirname(process.execPath), "node_modules/npm/bin"),
  ];
  for (const folder of candidates) {
    const npx = folder === null ? null : join(folder, "npx-cli.js");
    if (npx !== null && existsSync(npx)) return [process.execPath, npx];
  }
  return ["npx"];
}

function say(line) {
  process.stderr.write(`${line}\n`);
}
