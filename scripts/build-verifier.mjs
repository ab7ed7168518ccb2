import { createHash } from "node:crypto";
import { copyFile, mkdir, readFile, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const repository = dirname(dirname(fileURLToPath(import.meta.url)));
const app = join(repository, "apps/verifier");

/**
 * Builds the verification page: one file that holds its script and its style, and lets nothing else in.
 *
 * @param {string} folder where the page and its hash go
 * @returns {Promise<{ path: string, sha256: string }>}
 */
export async function buildVerifier(folder = join(app, "dist")) {
  const { build } = await import(pathToFileURL(join(app, "node_modules/vite/dist/node/index.js")).href);
  const { output } = await build({
    root: app,
    configFile: false,
    logLevel: "error",
    build: {
      write: false,
      target: "es2022",
      cssCodeSplit: false,
      lib: { entry: join(app, "src/main.ts"), formats: ["iife"], name: "verifier" },
    },
  }).then((made) => (Array.isArray(made) ? made[0] : made));
  const script = textOf(output, ({ fileName }) => fileName.endsWith(".js"));
  const style = textOf(output, ({ fileName }) => fileName.endsWith(".css"));
  if (/<\/script/i.test(script)) throw new Error("the script would end the page's script element");
  const policy = [
    "default-src 'none'",
    `script-src '${hashOf(script)}'`,
    `style-src '${hashOf(style)}'`,
    "worker-src blob:",
    "base-uri 'none'",
    "form-action 'none'",
  ].join("; ");
  const template = await readFile(join(app, "page.html"), "utf8");
  const parts = { policy, style, script };
  const page = template.replace(/(?:\/\*)?\{\{(policy|style|script)\}\}(?:\*\/)?/g, (_, name) => parts[name]);
  const sha256 = createHash("sha256").update(page).digest("hex");
  await mkdir(folder, { recursive: true });
  const path = join(folder, "verify-bundle.html");
  await writeFile(path, page);
  await writeFile(`${path}.sha256`, `${sha256}  verify-bundle.html\n`);
  return { path, sha256 };
}

/**
 * Copies the page and its hash to where somebody wants to publish them.
 *
 * @param {string[]} commandArguments --out FOLDER
 * @returns {Promise<number>} exit status
 */
export async function copyVerifier(commandArguments) {
  const [flag, folder, ...rest] = commandArguments;
  if (flag !== "--out" || folder === undefined || rest.length > 0) {
    process.stderr.write("Usage: npm run verify-page -- --out FOLDER\n");
    return 2;
  }
  await mkdir(folder, { recursive: true });
  for (const name of ["verify-bundle.html", "verify-bundle.html.sha256"]) {
    await copyFile(join(app, "dist", name), join(folder, name));
  }
  process.stdout.write(await readFile(join(folder, "verify-bundle.html.sha256"), "utf8"));
  return 0;
}

function textOf(output, isWanted) {
  const texts = output
    .filter(isWanted)
    .map((file) => (file.type === "chunk" ? file.code : String(file.source)));
  if (texts.length !== 1) throw new Error(`the build made ${texts.length} files where it must make one`);
  return texts[0];
}

/** As a content security policy names a script or style that stands in the page. */
function hashOf(text) {
  return `sha256-${createHash("sha256").update(text).digest("base64")}`;
}

if (process.argv[1] !== undefined && fileURLToPath(import.meta.url) === process.argv[1]) {
  const { path, sha256 } = await buildVerifier(process.argv[2]);
  process.stdout.write(`${path}\n${sha256}\n`);
}
