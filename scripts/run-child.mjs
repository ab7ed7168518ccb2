import { spawn } from "node:child_process";
import { constants } from "node:os";
import { dirname } from "node:path";
import { fileURLToPath } from "node:url";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));

/**
 * Runs a program and waits for it. A signal that ends us goes on to the program, and we end after it.
 *
 * @param {string[]} command the program and its arguments
 * @param {object} [options]
 * @param {string} [options.folder] where it runs; the checkout unless told otherwise
 * @param {Record<string, string | undefined>} [options.environment] variables beside our own; undefined removes one
 * @param {"inherit" | "stderr" | ((chunk: Buffer) => void)} [options.output] where its output goes: to ours,
 *   to our standard error, or to a function
 * @returns {Promise<number>} its exit code, 128 + n when signal n ended it, 127 when it could not be started
 */
export function runChild(command, { folder = repository, environment = {}, output = "inherit" } = {}) {
  const [program, ...programArguments] = command;
  const streams = { inherit: ["ignore", 1, 2], stderr: ["ignore", 2, 2] }[output] ?? [
    "ignore",
    "pipe",
    "pipe",
  ];
  return new Promise((resolve) => {
    const child = spawn(program, programArguments, {
      cwd: folder,
      env: { ...process.env, ...environment },
      stdio: streams,
      windowsHide: true,
    });
    if (typeof output === "function")
      for (const stream of [child.stdout, child.stderr]) stream.on("data", output);

    let endedBy = null;
    const passOn = (signal) => {
      endedBy = signal;
      child.kill(signal);
    };
    const signals = ["SIGINT", "SIGTERM", "SIGHUP"];
    for (const signal of signals) process.on(signal, passOn);
    const finish = (code) => {
      for (const signal of signals) process.off(signal, passOn);
      if (endedBy !== null) process.exit(128 + constants.signals[endedBy]);
      resolve(code);
    };
    child.once("error", (error) => {
      process.stderr.write(`${program} does not start: ${error.message}\n`);
      finish(127);
    });
    child.once("close", (code, signal) => finish(code ?? 128 + constants.signals[signal]));
  });
}

/**
 * Runs several programs beside each other until one ends, then ends the others.
 *
 * @param {string[][]} programs each the program and its arguments
 * @returns {Promise<number>} the exit code of the one that ended first
 */
export async function runTogether(programs) {
  const children = programs.map(([program, ...rest]) =>
    spawn(program, rest, { cwd: repository, stdio: ["ignore", 1, 2] }),
  );
  const passOn = (signal) => {
    for (const child of children) child.kill(signal);
  };
  for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"]) process.on(signal, passOn);
  const ends = children.map(
    (child) =>
      new Promise((resolve) => {
        child.once("error", () => resolve(127));
        child.once("close", (code) => resolve(code ?? 1));
      }),
  );
  const first = await Promise.race(ends);
  passOn("SIGTERM");
  await Promise.all(ends);
  return first;
}
