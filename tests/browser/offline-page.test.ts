import { createHash } from "node:crypto";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { gzipSync } from "node:zlib";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { buildVerifier } from "../../scripts/build-verifier.mjs";
import { accessibilityFindings, type Desk, openBrowser, openDesk } from "../support/browser.ts";
import { linesOfBundle, type ReleasedReport, releasedReport } from "../support/released-report.ts";

let released: ReleasedReport;
let folder: string;
let page: { path: string; sha256: string };
let browser: Browser;
let desk: Desk;
const asked: string[] = [];

beforeAll(async () => {
  released = await releasedReport();
  folder = await mkdtemp(join(tmpdir(), "sealbook offline page "));
  page = await buildVerifier(folder);
  const bundle = await released.bundle({ heldSize: released.earlierSize });
  await writeFile(join(folder, "true.sealbook.gz"), bundle);
  // One registration of one record, in a file that is otherwise whole.
  const lines = linesOfBundle(bundle);
  const at = lines.findIndex(
    (line) => line.includes('"kind":"test"') && line.includes('\\"verdict\\":\\"pass\\"'),
  );
  const bent = lines.with(at, (lines[at] ?? "").replace(/(\\"fullLoad\\":\\")[0-9.]+/, "$199.01"));
  expect(bent[at]).not.toBe(lines[at]);
  await writeFile(join(folder, "bent.sealbook.gz"), gzipSync(`${bent.join("\n")}\n`));
  await writeFile(join(folder, "no bundle.gz"), "This is no bundle.");
  browser = await openBrowser();
  desk = await openDesk(browser, "http://localhost");
  desk.page.on("request", (request) => asked.push(request.url()));
  await desk.context.setOffline(true);
}, 600_000);
afterAll(async () => {
  await browser.close();
  await released.close();
  await rm(folder, { recursive: true });
});

it("is one file, known by its hash, that lets nothing else in", async () => {
  const text = await readFile(page.path, "utf8");
  expect(createHash("sha256").update(text).digest("hex")).toBe(page.sha256);
  expect(await readFile(`${page.path}.sha256`, "utf8")).toBe(`${page.sha256}  verify-bundle.html\n`);
  expect(text).toContain("default-src 'none'");
  expect(text).not.toMatch(/<(link|img|iframe)\b|<script[^>]+src=/);
});

it("verifies a bundle with the network off, by keyboard, against what the stranger holds", async () => {
  const { page: tab } = desk;
  await tab.goto(pathToFileURL(page.path).href);
  expect(await accessibilityFindings(tab)).toEqual([]);
  await tab.getByLabel("Evidence bundle").setInputFiles(join(folder, "true.sealbook.gz"));
  await tab.getByLabel("What you hold from elsewhere").focus();
  await tab.keyboard.insertText(`${released.key}\n${released.earlierHead}`);
  await tab.getByText("Recognised: a key, a signed head.").waitFor();
  await tab.keyboard.press("Tab");
  await tab.keyboard.press("Enter");
  await tab.getByRole("heading", { name: "Everything here holds." }).waitFor({ timeout: 120_000 });
  for (const part of [
    "The signed head: holds",
    "Records of tests: holds",
    "Completeness: holds",
    "Lots: holds",
  ])
    expect(await tab.getByRole("heading", { name: part }).count(), part).toBe(1);
  expect(await accessibilityFindings(tab)).toEqual([]);
});

it("says “key unknown” to somebody who holds nothing", async () => {
  const { page: tab } = desk;
  await tab.getByLabel("What you hold from elsewhere").fill("");
  await tab.getByRole("button", { name: "Verify" }).click();
  await tab
    .getByRole("heading", { name: "Nothing here is wrong, but not everything could be told." })
    .waitFor({ timeout: 120_000 });
  expect(await tab.getByText("key-unknown").count()).toBe(1);
});

it("names what was bent", async () => {
  const { page: tab } = desk;
  await tab.getByLabel("Evidence bundle").setInputFiles(join(folder, "bent.sealbook.gz"));
  await tab.getByLabel("What you hold from elsewhere").fill(released.key);
  await tab.getByRole("button", { name: "Verify" }).click();
  await tab.getByRole("heading", { name: "This bundle does not hold." }).waitFor({ timeout: 120_000 });
  await tab.getByText(/Test [0-9a-f-]{36} is not what its entry recorded: its figures as found\./).waitFor();
  expect(await tab.getByText("manifest-root").count()).toBeGreaterThan(0);
  expect(await accessibilityFindings(tab)).toEqual([]);
});

it("says in words when a file is no bundle", async () => {
  const { page: tab } = desk;
  await tab.getByLabel("Evidence bundle").setInputFiles(join(folder, "no bundle.gz"));
  await tab.getByRole("button", { name: "Verify" }).click();
  await tab.getByText("This file cannot be unpacked").waitFor({ timeout: 60_000 });
  expect(desk.complaints).toEqual([]);
  expect(asked.filter((address) => !/^(file|blob):/.test(address))).toEqual([]);
});
