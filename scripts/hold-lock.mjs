import { createHash } from "node:crypto";
import { unlinkSync } from "node:fs";
import { connect, createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

/**
 * Runs one piece of work while no other Sealbook process on this machine runs the same. The lock is a
 * listening socket: the kernel gives it back when Node dies, however it dies, so no stale lock can remain.
 *
 * @template T
 * @param {string} name what is locked, such as the path of a folder
 * @param {() => Promise<T>} work
 * @param {() => void} [onWait] called once when another process holds the lock
 * @returns {Promise<T>} what the work returns
 */
export async function holdLock(name, work, onWait) {
  const address = lockAddress(name);
  let server = await tryToListen(address);
  if (server === null) onWait?.();
  while (server === null) {
    await new Promise((resolve) => setTimeout(resolve, 50));
    server = await tryToListen(address);
  }
  try {
    return await work();
  } finally {
    await new Promise((resolve) => server.close(resolve));
  }
}

/** Linux has abstract names and Windows has pipes; both vanish with their owner. Elsewhere it is a file. */
function lockAddress(name) {
  const short = createHash("sha256").update(name).digest("hex").slice(0, 24);
  if (process.platform === "linux") return `\0sealbook-${short}`;
  if (process.platform === "win32") return `\\\\?\\pipe\\sealbook-${short}`;
  return join(tmpdir(), `sealbook-${short}.lock`);
}

async function tryToListen(address) {
  const server = await listen(address);
  if (server !== null || process.platform === "linux" || process.platform === "win32") return server;
  // A socket file outlives its owner. Nobody answers on a dead one, so it may go.
  if (await somebodyAnswers(address)) return null;
  try {
    unlinkSync(address);
  } catch (error) {
    if (error.code !== "ENOENT") throw error;
  }
  return listen(address);
}

function listen(address) {
  return new Promise((resolve, reject) => {
    const server = createServer((socket) => socket.destroy());
    server.once("error", (error) => (error.code === "EADDRINUSE" ? resolve(null) : reject(error)));
    server.listen({ path: address }, () => resolve(server));
  });
}

function somebodyAnswers(address) {
  return new Promise((resolve) => {
    const socket = connect({ path: address });
    socket.once("connect", () => {
      socket.destroy();
      resolve(true);
    });
    socket.once("error", () => resolve(false));
  });
}
