import type { AddressInfo } from "node:net";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import type { Browser } from "playwright-core";
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
let browser: Browser;
let author: Desk;
let approver: Desk;
let names: { author: string; approver: string };
const next = String(Number(northCarolina.version) + 1);

beforeAll(async () => {
  shop = await testApp({ EVENT_LOOP_DELAY_MILLISECONDS: "60000" });
  names = {
    author: (await shop.signIn("quality-engineer")).username,
    approver: (await shop.signIn("supervisor")).username,
  };
  await shop.app.listen({ port: 0, host: "127.0.0.1" });
  const address = `http://127.0.0.1:${(shop.app.server.address() as AddressInfo).port}`;
  browser = await openBrowser();
  author = await openDesk(browser, address);
  approver = await openDesk(browser, address, { width: 820 });
});
afterAll(async () => {
  await browser.close();
  await shop.close();
});

it("takes a proposal from the version before, and keeps what was typed when it cannot be used", async () => {
  const { page } = author;
  await signInByKeyboard(page, names.author);
  await page.goto("/rules");
  await page.getByRole("link", { name: northCarolina.title }).click();
  await page.getByRole("link", { name: "Propose the next version" }).click();
  const document = page.getByLabel("Profile", { exact: true });
  const text = await document.inputValue();
  expect(JSON.parse(text)).toMatchObject({ key: "us-nc", version: next });
  await document.fill(text.replace('"maxPercent": "102"', '"maxPercent": "a lot"'));
  await page.getByLabel("Reason").fill("The text was read again");
  await page.getByRole("button", { name: "Put the proposal on record" }).click();
  await page.getByText("Some fields of the profile cannot be used").waitFor();
  expect(await document.inputValue()).toContain('"a lot"');
  expect(await accessibilityFindings(page)).toEqual([]);
  await document.fill(text.replace('"maxPercent": "102"', '"maxPercent": "101.5"'));
  await page.getByRole("button", { name: "Put the proposal on record" }).click();
  await page.getByText("You proposed this version: another person decides").waitFor();
  expect(await page.getByRole("button", { name: "Record the decision" }).count()).toBe(0);
});

it("shows another person what changed, field by field, and takes the decision by keyboard", async () => {
  const { page } = approver;
  await signInByKeyboard(page, names.approver);
  await page.goto("/rules");
  await page.getByRole("row").filter({ hasText: "Proposed" }).getByRole("link").click();
  await page.getByRole("link", { name: "with this one" }).first().click();
  const row = page.getByRole("row").filter({ hasText: "101.5" });
  expect(await row.innerText()).toMatch(/limits.*to percent/);
  expect(await row.innerText()).toContain("102");
  expect(await accessibilityFindings(page)).toEqual([]);
  await page.goBack();
  await page.getByLabel("Approve: it judges tests from the date below").focus();
  await page.keyboard.press("Space");
  await page.keyboard.press("Tab");
  await page.keyboard.type("2099-01-01");
  await page.keyboard.press("Tab");
  await page.keyboard.type("Held against the text");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.getByText("Approved for later").first().waitFor();
  expect(await page.getByRole("row").filter({ hasText: "2099-01-01" }).count()).toBe(1);
  expect(await accessibilityFindings(page)).toEqual([]);
  expect([...author.complaints, ...approver.complaints]).toEqual([]);
});
