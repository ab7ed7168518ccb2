import { readFileSync } from "node:fs";
import { settingsTable } from "@sealbook/api/settings-table";
import { expect, it } from "vitest";

it("README lists every setting with its default and meaning", () => {
  const readme = readFileSync(new URL("../../README.md", import.meta.url), "utf8");
  expect(readme).toContain(settingsTable("data"));
});
