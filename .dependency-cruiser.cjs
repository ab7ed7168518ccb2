// The laws of the house as rules about who may import whom. scripts/laws.mjs runs them, together with the laws
// that an import does not show. Every rule says its law in a sentence.

const pure = "^packages/(metrology|contract|evidence|verification)/src/";
const test = "[.]test[.]tsx?$";

/** @type {import("dependency-cruiser").IConfiguration} */
module.exports = {
  forbidden: [
    {
      name: "pure-packages-do-no-input-or-output",
      comment: "A pure package uses nothing of the system: no files, network, clock or processes.",
      severity: "error",
      // Hashing in Node by Node is no input and no output; the browser gets the other maker of the same bytes.
      from: { path: pure, pathNot: [test, "^packages/evidence/src/sha256-in-node[.]ts$"] },
      to: { dependencyTypes: ["core"] },
    },
    {
      name: "pure-packages-know-no-app",
      comment: "A pure package knows no application, no database and no test.",
      severity: "error",
      from: { path: pure },
      to: { path: "^(apps|prisma|scripts|tests)/" },
    },
    {
      name: "pure-packages-use-few-libraries",
      comment: "A pure package leans on libraries of arithmetic and shapes alone.",
      severity: "error",
      from: { path: pure, pathNot: test },
      to: {
        path: "node_modules/",
        pathNot: "node_modules/(zod|decimal[.]js|@stdlib/[^/]+|@noble/(hashes|curves))/",
      },
    },
    {
      name: "metrology-and-evidence-stand-alone",
      comment: "metrology and evidence import no other package of the house; contract may import them.",
      severity: "error",
      from: { path: "^packages/(metrology|evidence)/src/" },
      to: { path: "^packages/", pathNot: "^packages/$1/" },
    },
    {
      name: "contract-knows-no-verification",
      comment: "verification leans on the three other packages; none of them leans on it.",
      severity: "error",
      from: { path: "^packages/contract/src/" },
      to: { path: "^packages/verification/" },
    },
    {
      name: "verifier-knows-verification-alone",
      comment:
        "The page that verifies without a network holds what verification needs, and the style of the page.",
      severity: "error",
      from: { path: "^apps/verifier/src/" },
      to: {
        path: "^(apps|packages|prisma|scripts|tests)/",
        pathNot: ["^apps/verifier/src/", "^packages/verification/src/", "^apps/web/src/ui/[^/]+[.]css$"],
      },
    },
    {
      name: "web-never-imports-api",
      comment: "The client talks to the server through the contract alone.",
      severity: "error",
      from: { path: "^apps/web/" },
      to: { path: "^(apps/(api|verifier)|prisma|scripts|tests)/" },
    },
    {
      name: "api-never-imports-web",
      comment: "The server knows nothing of the client but the folder that it serves.",
      severity: "error",
      from: { path: "^apps/api/" },
      to: { path: "^(apps/(web|verifier)|tests)/" },
    },
    {
      name: "api-module-by-its-door",
      comment: "A module of the API uses another module through its <area>.ts alone.",
      severity: "error",
      from: { path: "^apps/api/src/modules/([^/]+)/" },
      to: {
        path: "^apps/api/src/modules/",
        pathNot: ["^apps/api/src/modules/$1/", "^apps/api/src/modules/([^/]+)/\\1[.]ts$"],
      },
    },
    {
      name: "platform-knows-no-module",
      comment: "The platform serves every module and therefore knows none.",
      severity: "error",
      from: { path: "^apps/api/src/platform/" },
      to: { path: "^apps/api/src/modules/" },
    },
    {
      name: "web-features-never-meet",
      comment: "A feature never imports another feature; app composes them.",
      severity: "error",
      from: { path: "^apps/web/src/features/([^/]+)/" },
      to: { path: "^apps/web/src/features/", pathNot: "^apps/web/src/features/$1/" },
    },
    {
      name: "web-runs-one-way",
      comment: "ui, then trade and api, then features, then app: each imports only what stands before it.",
      severity: "error",
      from: { path: "^apps/web/src/(features|trade|api)/" },
      to: { path: "^apps/web/src/app/" },
    },
    {
      name: "web-shared-parts-know-no-feature",
      comment: "What several features share knows none of them.",
      severity: "error",
      from: { path: "^apps/web/src/(trade|api)/" },
      to: { path: "^apps/web/src/features/" },
    },
    {
      name: "web-ui-knows-no-trade",
      comment: "Parts in ui know no feature, no application and no package of the trade.",
      severity: "error",
      from: { path: "^apps/web/src/ui/" },
      to: { path: ["^apps/web/src/(features|app|trade|api)/", "^packages/"] },
    },
    {
      name: "nothing-leans-on-a-test",
      comment: "What is shipped imports no test.",
      severity: "error",
      from: { path: "^(apps|packages|prisma|scripts)/", pathNot: test },
      to: { path: ["^tests/", test] },
    },
    {
      name: "no-cycles",
      comment: "Two files that need each other are one file, or hide a third.",
      severity: "error",
      from: {},
      to: { circular: true },
    },
    {
      name: "every-import-resolves",
      comment:
        "What a file imports exists and is declared by its package; an import not found escapes all other rules.",
      severity: "error",
      from: {},
      to: { couldNotResolve: true },
    },
  ],
  options: {
    // TypeScript 7 has no interface that the tool knows: without this parser it would find no file at all.
    parser: "swc",
    tsPreCompilationDeps: true,
    doNotFollow: { path: "node_modules" },
    // What tools make is nobody's to edit.
    exclude: { path: "^apps/api/src/platform/prisma/|^apps/(web|verifier)/dist/" },
    enhancedResolveOptions: {
      exportsFields: ["exports"],
      conditionNames: ["import", "types", "node", "default"],
      extensions: [".ts", ".tsx", ".mts", ".mjs", ".cjs", ".js", ".json"],
      mainFields: ["module", "main", "types"],
    },
  },
};
