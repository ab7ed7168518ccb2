import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";

/** Made by tools, not by people: never a source. */
const generated = new Set(["node_modules", "dist", "coverage"]);

/**
 * One SHA-256 over the names and contents of files and of all files in folders, the same on every machine.
 *
 * @param {string} root folder that the paths start from
 * @param {string[]} paths files and folders; one that is missing counts as missing
 * @returns {string} 64 hexadecimal digits
 */
export function hashFiles(root, paths) {
  const hash = createHash("sha256");
  const add = (path) => {
    const full = join(root, path);
    if (!existsSync(full)) {
      hash.update(`missing ${path}\n`);
      return;
    }
    if (statSync(full).isDirectory()) {
      for (const name of readdirSync(full).sort()) {
        if (!generated.has(name) && !/\.test\.tsx?$|\.tsbuildinfo$/.test(name)) add(`${path}/${name}`);
      }
      return;
    }
    const content = readFileSync(full);
    hash.update(`file ${path} ${content.length}\n`).update(content);
  };
  for (const path of paths) add(path);
  return hash.digest("hex");
}
