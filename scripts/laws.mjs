import { spawnSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync, realpathSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));
const folders = ["apps", "packages", "prisma", "scripts", "tests"];
const isTest = (path) => /[.]test[.]tsx?$/.test(path);
const isPure = (path) =>
  /^packages\/(metrology|contract|evidence|verification)\/src\//.test(path) && !isTest(path);

/** Laws that no import shows, because what they forbid is everywhere at hand. */
const textLaws = [
  {
    name: "pure-packages-have-no-clock",
    says: "Time is an argument: a pure package never asks what time it is.",
    holdsFor: isPure,
    forbids:
      /\bDate\s*[.]\s*now\b|\bnew\s+Date\b(?!\s*\(\s*[^)\s])|(?<!\bnew\s+)(?<![.\w])Date\s*\(|\bperformance\s*[.]\s*now\b/,
  },
  {
    name: "pure-packages-have-no-randomness",
    says: "Seeds and identifiers are arguments: a pure package never draws at random.",
    holdsFor: isPure,
    forbids: /\bMath\s*[.]\s*random\b|\brandom(UUID|Bytes|Int)\b|\bgetRandomValues\b/,
  },
  {
    name: "pure-packages-reach-for-nothing",
    says: "A pure package touches no network, storage or process, not even a global one.",
    holdsFor: isPure,
    forbids: /(?<![.\w])(fetch\s*\(|process\s*[.]|globalThis\b|window\b|localStorage\b|setTimeout\s*\()/,
  },
  {
    name: "settings-are-read-in-config",
    says: "Environment variables are read in apps/api/src/config.ts alone, where each has its default and meaning.",
    holdsFor: (path) =>
      /^(apps|packages|prisma)\//.test(path) && !isTest(path) && path !== "apps/api/src/config.ts",
    forbids:
      /\bprocess\s*([?]?[.]\s*env\b|\[)|\{[^}]*\benv\b[^}]*\}\s*(=\s*process\b|from\s*["'](node:)?process["'])/,
  },
];

/**
 * Holds a checkout against the laws of the house.
 *
 * @param {string} root the checkout
 * @returns {{ files: number, breaches: { law: string, says: string, file: string, what: string }[] }}
 */
export function findBreaches(root) {
  const imports = importBreaches(root);
  const texts = folders
    .flatMap((folder) => sourceFiles(root, folder))
    .flatMap((path) => textBreaches(path, readFileSync(join(root, path), "utf8")));
  return { files: imports.files, breaches: [...imports.breaches, ...texts, ...untypedWorkspaces(root)] };
}

/** `tsc -b` passes over a workspace that the root does not name, without a word. */
function untypedWorkspaces(root) {
  const rootFile = join(root, "tsconfig.json");
  const { references = [] } = existsSync(rootFile) ? JSON.parse(readFileSync(rootFile, "utf8")) : {};
  const named = new Set(references.map(({ path }) => path.replace(/^[.][/]/, "")));
  const children = (folder) => (existsSync(join(root, folder)) ? readdirSync(join(root, folder)) : []);
  const workspaces = ["apps", "packages"].flatMap((folder) =>
    children(folder).map((name) => `${folder}/${name}`),
  );
  return [...workspaces, "prisma", "tests"]
    .filter((path) => existsSync(join(root, path, "tsconfig.json")) && !named.has(path))
    .map((path) => ({
      law: "every-workspace-is-type-checked",
      says: "The tsconfig.json of the root refers to that of every workspace.",
      file: `${path}/tsconfig.json`,
      what: "is not among the references of the root's tsconfig.json",
    }));
}

function importBreaches(root) {
  const tool = join(repository, "node_modules/dependency-cruiser/bin/dependency-cruise.mjs");
  const config = join(repository, ".dependency-cruiser.cjs");
  const present = folders.filter((folder) => existsSync(join(root, folder)));
  const { stdout, stderr } = spawnSync(
    process.execPath,
    [tool, "--config", config, "--output-type", "json", ...present],
    { cwd: root, encoding: "utf8", maxBuffer: 256 * 1024 * 1024 },
  );
  if (!stdout.startsWith("{")) throw new Error(`dependency-cruiser gave no result: ${stderr || stdout}`);
  const { summary } = JSON.parse(stdout);
  const says = new Map(summary.ruleSetUsed.forbidden.map((rule) => [rule.name, rule.comment]));
  const breaches = summary.violations.map(({ rule, from, to, cycle }) => ({
    law: rule.name,
    says: says.get(rule.name) ?? "",
    file: from,
    what: `imports ${cycle ? cycle.map(({ name }) => name).join(" -> ") : to}`,
  }));
  return { files: summary.totalCruised, breaches };
}

function sourceFiles(root, folder) {
  const full = join(root, folder);
  if (!existsSync(full)) return [];
  return readdirSync(full).flatMap((name) => {
    if (name === "node_modules" || name === "dist") return [];
    const path = `${folder}/${name}`;
    if (path === "apps/api/src/platform/prisma") return [];
    if (statSync(join(root, path)).isDirectory()) return sourceFiles(root, path);
    return /[.](ts|tsx|mts|mjs)$/.test(name) ? [path] : [];
  });
}

function textBreaches(path, source) {
  const laws = textLaws.filter((law) => law.holdsFor(path));
  if (laws.length === 0) return [];
  const code = withoutComments(source);
  return laws.flatMap(({ name, says, forbids }) => {
    const found = forbids.exec(code);
    if (found === null) return [];
    const line = code.slice(0, found.index).split("\n").length;
    return [{ law: name, says, file: path, what: `line ${line}: ${found[0].trim()}` }];
  });
}

/** Comments may speak of what the code may not do. Strings are stepped over, so that "//" in one is no comment. */
function withoutComments(source) {
  const pieces =
    /"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*'|`(?:[^`\\]|\\[\s\S])*`|\/\/[^\n]*|\/\*[\s\S]*?\*\//g;
  return source.replace(pieces, (piece) => (/^\/[/*]/.test(piece) ? piece.replace(/[^\n]/g, " ") : piece));
}

if (process.argv[1] && realpathSync(process.argv[1]) === fileURLToPath(import.meta.url)) {
  const { files, breaches } = findBreaches(process.argv[2] ?? repository);
  for (const { law, says, file, what } of breaches) console.error(`${file}\n  ${what}\n  ${law}: ${says}`);
  if (files === 0) console.error("No file was examined: the tool cannot read the sources.");
  else console.log(`${files} files examined, ${breaches.length} breaches of the laws of the house`);
  process.exit(files > 0 && breaches.length === 0 ? 0 : 1);
}
