import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { afterEach, describe, expect, it } from "vitest";
import { findBreaches } from "../../scripts/laws.mjs";

const repository = dirname(dirname(dirname(fileURLToPath(import.meta.url))));
const houses: string[] = [];

afterEach(() => {
  for (const house of houses.splice(0)) rmSync(house, { recursive: true, force: true });
});

/** A small house in which every law is kept. */
const lawful: Record<string, string> = {
  "packages/metrology/package.json": '{ "name": "@sealbook/metrology", "exports": { "./*": "./src/*.ts" } }',
  "packages/contract/package.json": '{ "name": "@sealbook/contract", "exports": { "./*": "./src/*.ts" } }',
  "packages/evidence/package.json": '{ "name": "@sealbook/evidence", "exports": { "./*": "./src/*.ts" } }',
  "packages/verification/package.json":
    '{ "name": "@sealbook/verification", "exports": { "./*": "./src/*.ts" } }',
  "packages/metrology/src/registration.ts": `
    // Date.now() and Math.random() are words in a comment here; "//" below is a string.
    export const source = "https://example.org";
    export const yearOf = (at: string): number => new Date(at).getFullYear();
  `,
  "packages/metrology/src/registration.test.ts": `
    import { readFileSync } from "node:fs";
    import { yearOf } from "./registration.ts";
    export const read = (): number => yearOf(readFileSync("year", "utf8")) - new Date().getFullYear();
  `,
  "packages/contract/src/meters.ts": `
    import { source } from "@sealbook/metrology/registration";
    export const meters = source;
  `,
  "packages/evidence/src/canonical-json.ts":
    "export const canonicalJson = (value: unknown): string => JSON.stringify(value);",
  "packages/verification/src/verify-bundle.ts": `
    import { meters } from "@sealbook/contract/meters";
    import { canonicalJson } from "@sealbook/evidence/canonical-json";
    import { source } from "@sealbook/metrology/registration";
    export const verifyBundle = (): string => canonicalJson([meters, source]);
  `,
  "apps/verifier/src/main.ts": `
    import "../../web/src/ui/tokens.css";
    import { verifyBundle } from "@sealbook/verification/verify-bundle";
    export const main = verifyBundle;
  `,
  "apps/web/src/ui/tokens.css": ":root { --rule: #ccc; }",
  "apps/api/src/config.ts": "export const port = process.env.PORT;",
  "apps/api/src/app.ts": `
    import { routes } from "./modules/meters/routes.ts";
    import { port } from "./config.ts";
    export const app = [routes, port];
  `,
  "apps/api/src/platform/database.ts": "export const database = 1;",
  "apps/api/src/modules/meters/meters.ts":
    'import { listRows } from "./store.ts"; export const listMeters = listRows;',
  "apps/api/src/modules/meters/store.ts": `
    import { database } from "../../platform/database.ts";
    export const listRows = (): number => database;
  `,
  "apps/api/src/modules/meters/routes.ts":
    'import { listMeters } from "./meters.ts"; export const routes = listMeters;',
  "apps/api/src/modules/standards/standards.ts": `
    import { listMeters } from "../meters/meters.ts";
    export const standards = listMeters;
  `,
  "apps/web/src/ui/button.ts": "export const button = 1;",
  "apps/web/src/features/meters/meter-page.ts": `
    import { meters } from "@sealbook/contract/meters";
    import { button } from "../../ui/button.ts";
    export const meterPage = [meters, button];
  `,
  "apps/web/src/features/people/people-page.ts": "export const peoplePage = 1;",
  "apps/web/src/app/router.ts": `
    import { meterPage } from "../features/meters/meter-page.ts";
    import { peoplePage } from "../features/people/people-page.ts";
    export const router = [meterPage, peoplePage];
  `,
};

/** Builds a house in a folder of its own: the lawful one with some files beside it. */
function house(files: Record<string, string>): string {
  const root = mkdtempSync(join(tmpdir(), "sealbook-laws-"));
  houses.push(root);
  for (const [path, content] of Object.entries(files)) {
    mkdirSync(dirname(join(root, path)), { recursive: true });
    writeFileSync(join(root, path), content);
  }
  const link = (from: string, name: string, to: string): void => {
    const place = join(root, from, "node_modules", name);
    mkdirSync(dirname(place), { recursive: true });
    symlinkSync(relative(dirname(place), to), place);
  };
  link("packages/contract", "@sealbook/metrology", join(root, "packages/metrology"));
  link("packages/metrology", "@sealbook/contract", join(root, "packages/contract"));
  link("packages/evidence", "@sealbook/metrology", join(root, "packages/metrology"));
  link("packages/contract", "@sealbook/verification", join(root, "packages/verification"));
  for (const name of ["metrology", "contract", "evidence"]) {
    link("packages/verification", `@sealbook/${name}`, join(root, "packages", name));
  }
  for (const name of ["metrology", "verification"]) {
    link("apps/verifier", `@sealbook/${name}`, join(root, "packages", name));
  }
  link("packages/evidence", "fastify", join(repository, "apps/api/node_modules/fastify"));
  link("apps/web", "@sealbook/contract", join(root, "packages/contract"));
  return root;
}

function breachesOf(files: Record<string, string>): string[] {
  const { files: examined, breaches } = findBreaches(house({ ...lawful, ...files }));
  expect(examined).toBeGreaterThan(0);
  return breaches.map(({ law, file }) => `${law}: ${file}`).sort();
}

describe("the laws of the house", () => {
  it("are kept by a lawful house, comments and strings notwithstanding", () => {
    expect(breachesOf({})).toEqual([]);
  });

  it("are not taken as kept when no source can be read", () => {
    const root = house({ "apps/api/README": "no source here" });
    expect(findBreaches(root).files).toBe(0);
  });

  // One house holds all of these, each in a file of its own: the tool must name exactly them.
  const planted: [law: string, file: string, content: string][] = [
    [
      "pure-packages-do-no-input-or-output",
      "packages/metrology/src/reads-a-file.ts",
      'export { readFileSync } from "node:fs";',
    ],
    [
      "pure-packages-do-no-input-or-output",
      "packages/evidence/src/uses-crypto.ts",
      'export { createHash } from "crypto";',
    ],
    [
      "pure-packages-know-no-app",
      "packages/contract/src/knows-the-api.ts",
      'export { port } from "../../../apps/api/src/config.ts";',
    ],
    [
      "pure-packages-know-no-app",
      "packages/metrology/src/knows-a-type-of-the-api.ts",
      'import type { port } from "../../../apps/api/src/config.ts"; export type Port = typeof port;',
    ],
    [
      "pure-packages-use-few-libraries",
      "packages/evidence/src/serves.ts",
      'export { fastify } from "fastify";',
    ],
    [
      "metrology-and-evidence-stand-alone",
      "packages/evidence/src/leans.ts",
      'export { source } from "@sealbook/metrology/registration";',
    ],
    [
      "metrology-and-evidence-stand-alone",
      "packages/metrology/src/leans.ts",
      'export { meters } from "@sealbook/contract/meters";',
    ],
    [
      "pure-packages-do-no-input-or-output",
      "packages/verification/src/reads-a-file.ts",
      'export { readFile } from "node:fs/promises";',
    ],
    [
      "pure-packages-know-no-app",
      "packages/verification/src/knows-the-api.ts",
      'export { port } from "../../../apps/api/src/config.ts";',
    ],
    [
      "contract-knows-no-verification",
      "packages/contract/src/verifies.ts",
      'export { verifyBundle } from "@sealbook/verification/verify-bundle";',
    ],
    [
      "verifier-knows-verification-alone",
      "apps/verifier/src/judges.ts",
      'export { source } from "@sealbook/metrology/registration";',
    ],
    [
      "verifier-knows-verification-alone",
      "apps/verifier/src/presses.ts",
      'export { button } from "../../web/src/ui/button.ts";',
    ],
    [
      "web-never-imports-api",
      "apps/web/src/app/verifies.ts",
      'export { main } from "../../../verifier/src/main.ts";',
    ],
    [
      "api-never-imports-web",
      "apps/api/src/hands-out.ts",
      'export { main } from "../../verifier/src/main.ts";',
    ],
    [
      "web-never-imports-api",
      "apps/web/src/app/calls-the-server.ts",
      'export { database } from "../../../api/src/platform/database.ts";',
    ],
    [
      "web-never-imports-api",
      "apps/web/src/app/calls-later.ts",
      'export const later = () => import("../../../api/src/app.ts");',
    ],
    [
      "api-never-imports-web",
      "apps/api/src/draws.ts",
      'export { button } from "../../web/src/ui/button.ts";',
    ],
    [
      "api-module-by-its-door",
      "apps/api/src/modules/standards/store.ts",
      'export { listRows } from "../meters/store.ts";',
    ],
    [
      "api-module-by-its-door",
      "apps/api/src/modules/standards/routes.ts",
      'export { routes } from "../meters/routes.ts";',
    ],
    [
      "platform-knows-no-module",
      "apps/api/src/platform/jobs.ts",
      'export { listMeters } from "../modules/meters/meters.ts";',
    ],
    [
      "web-features-never-meet",
      "apps/web/src/features/people/shows-a-meter.tsx",
      'import { meterPage } from "../meters/meter-page.ts"; export const Part = () => <p className="meter">{meterPage}</p>;',
    ],
    [
      "web-runs-one-way",
      "apps/web/src/features/people/navigates.ts",
      'export { router } from "../../app/router.ts";',
    ],
    [
      "web-shared-parts-know-no-feature",
      "apps/web/src/trade/verdict.ts",
      'export { meterPage } from "../features/meters/meter-page.ts";',
    ],
    [
      "web-ui-knows-no-trade",
      "apps/web/src/ui/meter-button.ts",
      'export { meters } from "@sealbook/contract/meters";',
    ],
    [
      "web-ui-knows-no-trade",
      "apps/web/src/ui/page-button.ts",
      'export { meterPage } from "../features/meters/meter-page.ts";',
    ],
    [
      "nothing-leans-on-a-test",
      "apps/api/src/uses-a-test.ts",
      'export { read } from "../../../packages/metrology/src/registration.test.ts";',
    ],
    [
      "no-cycles",
      "apps/api/src/one.ts",
      'import { two } from "./two.ts"; export const one = (): number => two();',
    ],
    [
      "every-import-resolves",
      "apps/api/src/undeclared.ts",
      'export { nothing } from "a-package-that-nobody-declared";',
    ],
    ["every-import-resolves", "apps/web/src/app/misspelt.ts", 'export { button } from "../ui/buton.ts";'],
    [
      "pure-packages-have-no-clock",
      "packages/metrology/src/knows-the-time.ts",
      "export const at = (): number => Date.now();",
    ],
    [
      "pure-packages-have-no-clock",
      "packages/contract/src/knows-the-day.ts",
      "export const today = (): Date => new Date();",
    ],
    [
      "pure-packages-have-no-clock",
      "packages/evidence/src/says-the-day.ts",
      "export const today = (): string => Date();",
    ],
    [
      "pure-packages-have-no-randomness",
      "packages/metrology/src/rolls.ts",
      "export const roll = (): number => Math.random();",
    ],
    [
      "pure-packages-have-no-randomness",
      "packages/evidence/src/names.ts",
      "export const id = (): string => crypto.randomUUID();",
    ],
    [
      "pure-packages-reach-for-nothing",
      "packages/contract/src/fetches.ts",
      'export const get = () => fetch("/meters");',
    ],
    [
      "pure-packages-have-no-clock",
      "packages/verification/src/knows-the-time.ts",
      "export const at = (): number => Date.now();",
    ],
    [
      "pure-packages-reach-for-nothing",
      "packages/verification/src/fetches.ts",
      'export const key = () => fetch("/key");',
    ],
    ["every-workspace-is-type-checked", "packages/forgotten/tsconfig.json", "{}"],
    [
      "settings-are-read-in-config",
      "apps/api/src/modules/meters/reads-settings.ts",
      "export const port = process.env.PORT;",
    ],
    [
      "settings-are-read-in-config",
      "apps/api/src/platform/reads-settings.ts",
      'export const port = process["env"].PORT;',
    ],
    [
      "settings-are-read-in-config",
      "apps/api/src/platform/takes-settings.ts",
      "const { env } = process; export const port = env.PORT;",
    ],
  ];

  it("are each seen broken where a breach is planted, and nowhere else", () => {
    const files = Object.fromEntries(planted.map(([, file, content]) => [file, content]));
    // The other half of the planted cycle, which is reported once.
    files["apps/api/src/two.ts"] = 'import { one } from "./one.ts"; export const two = (): number => one();';
    const expected = planted.map(([law, file]) => `${law}: ${file}`).sort();
    expect(breachesOf(files)).toEqual(expected);
  });
});
