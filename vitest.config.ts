import { defineConfig } from "vitest/config";

/**
 * One project a kind of test, so that each kind also runs alone: `pnpm exec vitest run --project unit`. Kinds that
 * use the machine differently run one after the other (groupOrder).
 */
export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: "unit",
          include: ["packages/*/src/**/*.test.ts", "apps/*/src/**/*.test.ts", "tests/unit/**/*.test.ts"],
        },
      },
      { test: { name: "conformance", include: ["tests/conformance/**/*.test.ts"] } },
      {
        test: {
          name: "api",
          include: ["tests/api/**/*.test.ts", "tests/laws/**/*.test.ts"],
          globalSetup: ["tests/support/global-database.ts"],
          testTimeout: 30_000,
          hookTimeout: 60_000,
          maxWorkers: 2,
          sequence: { groupOrder: 1 },
        },
      },
      {
        test: {
          name: "browser",
          include: ["tests/browser/**/*.test.ts"],
          globalSetup: ["tests/support/global-database.ts"],
          testTimeout: 180_000,
          hookTimeout: 180_000,
          maxWorkers: 1,
          sequence: { groupOrder: 2 },
          fileParallelism: false,
        },
      },
      {
        test: {
          name: "faults",
          include: ["tests/faults/**/*.test.ts"],
          testTimeout: 7_200_000,
          hookTimeout: 180_000,
          maxWorkers: 1,
          sequence: { groupOrder: 3 },
        },
      },
    ],
  },
});
