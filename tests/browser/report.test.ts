import { createHash } from "node:crypto";
import { mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { buildApp } from "@sealbook/api/app";
import { readConfig } from "@sealbook/api/config";
import { openDatabase } from "@sealbook/api/platform/database";
import { logSigner } from "@sealbook/api/platform/log/log-signer";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { inTransaction } from "@sealbook/api/platform/transaction";
import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import type { FastifyInstance } from "fastify";
import { pino } from "pino";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import {
  accessibilityFindings,
  type Desk,
  openBrowser,
  openDesk,
  signInByKeyboard,
} from "../support/browser.ts";

let shop: TestApp;
let app: FastifyInstance;
let opened: ReturnType<typeof openDatabase>;
let folder: string;
let address: string;
let browser: Browser;
const desks: Desk[] = [];

beforeAll(async () => {
  shop = await testApp({}, { demo: true });
  folder = await mkdtemp(join(tmpdir(), "sealbook-report-test-"));
  const config = readConfig({
    LOG_LEVEL: "silent",
    SEALBOOK_DATA_FOLDER: folder,
    SIGN_INS_PER_MINUTE: "1000",
    REQUESTS_PER_MINUTE: "100000",
    EVENT_LOOP_DELAY_MILLISECONDS: "60000",
  });
  const log = pino({ level: "silent" });
  opened = openDatabase(shop.database.appUrl, config, log);
  app = await buildApp({ config, database: opened, log, logSigner: await logSigner(opened.pool, config) });
  address = await app.listen({ host: "127.0.0.1", port: 0 });
  await sequence();
  browser = await openBrowser();
}, 400_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await opened?.close();
  await shop?.close();
  if (folder !== undefined) await rm(folder, { recursive: true });
});

async function sequence(): Promise<void> {
  for (;;) if ((await inTransaction(opened.pool, null, (tx) => sequenceEntries(tx))) === 0) return;
}

async function deskOf(username: string): Promise<Page> {
  const desk = await openDesk(browser, address);
  desks.push(desk);
  const password = passwordOf(username);
  await signInByKeyboard(desk.page, username, password);
  return desk.page;
}

function passwordOf(username: string): string {
  return demoSignIns.find((person) => person.username === username)?.password ?? "";
}

async function signAs(page: Page, username: string, button: string): Promise<void> {
  await page.getByLabel(/^Password of/).fill(passwordOf(username));
  await page.getByRole("button", { name: button }).click();
}

it("is made, reviewed, signed and released by two people, and opened and downloaded by a regulator", async () => {
  const marguerite = await deskOf("marguerite");
  await marguerite.goto("/reports/new");
  await marguerite.getByLabel("Title").fill("Meter tests up to today");
  const { rows } = await shop.admin.query<{ from: string; to: string }>(
    `SELECT (max(performed_at) - interval '300 days')::date::text AS from, max(performed_at)::date::text AS to FROM meter_test`,
  );
  await marguerite.getByLabel("First day").fill(rows[0]?.from ?? "");
  await marguerite.getByLabel("Last day").fill(rows[0]?.to ?? "");
  await marguerite.getByRole("button", { name: "Draft the report" }).click();
  await marguerite.getByRole("heading", { name: "Meter tests up to today" }).waitFor();
  await marguerite.getByText("You drafted this report: somebody else reviews its figures.").waitFor();
  const page = new URL(marguerite.url()).pathname;

  // A number opens the tests behind it: as many rows as it says.
  const outside = marguerite.getByRole("link", { name: /^\d+: Outside limits$/ }).first();
  const count = Number(await outside.innerText());
  await outside.click();
  await marguerite.getByRole("heading", { name: /outside limits$/i }).waitFor();
  await marguerite
    .getByText(new RegExp(`^${count} tests?`))
    .first()
    .waitFor();
  await marguerite.goto(page);

  const dorian = await deskOf("dorian");
  await dorian.goto(page);
  await signAs(dorian, "dorian", "Review and fix the figures");
  await dorian.getByText("Reviewed, awaits its author's signature").waitFor();
  await marguerite.reload();
  await signAs(marguerite, "marguerite", "Sign the report");
  await marguerite.getByText("You drafted this report: somebody else releases it.").waitFor();
  await dorian.reload();
  await signAs(dorian, "dorian", "Release the report");
  await dorian.getByRole("link", { name: "Document (PDF)" }).waitFor();
  await sequence();

  const alder = await deskOf("alder");
  await alder.goto("/reports");
  await alder.getByRole("link", { name: "Meter tests up to today" }).click();
  await alder.getByRole("heading", { name: "Meter tests up to today" }).waitFor();
  expect(await accessibilityFindings(alder)).toEqual([]);
  expect(await alder.getByRole("button", { name: /edition|report/i }).count()).toBe(0);
  const sha256 = await alder.locator("dt", { hasText: "SHA-256 of the figures" }).locator("+ dd").innerText();
  const json = await downloaded(alder, "Data (JSON)");
  expect(createHash("sha256").update(json).digest("hex")).toBe(sha256.trim());
  const bundle = gunzipSync(await downloaded(alder, "Evidence bundle"))
    .toString("utf8")
    .split("\n");
  expect(JSON.parse(bundle[0] ?? "")).toMatchObject({ kind: "bundle", format: 1 });
  expect(desks.flatMap(({ complaints }) => complaints)).toEqual([]);
});

async function downloaded(page: Page, link: string): Promise<Buffer> {
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("link", { name: link, exact: true }).click(),
  ]);
  return await readFile(await download.path());
}
