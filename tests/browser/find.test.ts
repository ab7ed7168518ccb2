import { readFileSync } from "node:fs";
import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import { parse } from "csv-parse/sync";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
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
let address: string;

beforeAll(async () => {
  shop = await testApp({}, { demo: true });
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
}, 600_000);
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

async function deskOf(username: string, options: { width?: number } = {}): Promise<Desk> {
  const desk = await openDesk(browser, address, options);
  const password = demoSignIns.find((person) => person.username === username)?.password ?? "";
  await signInByKeyboard(desk.page, username, password);
  return desk;
}

/** The lines that the find box offers. */
const options = (page: Page) => page.getByRole("listbox", { name: "Found" }).getByRole("option");

const one = async (sql: string, values: unknown[] = []) =>
  (await shop.admin.query<Record<string, string>>(sql, values)).rows[0] ?? {};

describe("finding", () => {
  it("opens a meter by keyboard from a part of its serial", async () => {
    const { context, page, complaints } = await deskOf("ines");
    const meter = await one(
      "SELECT utility_number, serial FROM meter m WHERE (SELECT count(*) FROM meter o WHERE o.serial ILIKE '%' || right(m.serial, 5) || '%' OR o.utility_number ILIKE '%' || right(m.serial, 5) || '%') = 1 ORDER BY id LIMIT 1",
    );
    // A page without a field of its own that takes the keyboard.
    await page.goto("/meter-moves");
    await page.getByRole("heading", { level: 1 }).waitFor();
    await page.keyboard.press("/");
    await page.keyboard.type(meter.serial?.slice(-5) ?? "");
    await options(page).first().waitFor();
    expect(await options(page).count()).toBe(1);
    expect(await accessibilityFindings(page)).toEqual([]);
    await page.keyboard.press("ArrowDown");
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: `Meter ${meter.utility_number}` }).waitFor();
    await page.keyboard.press("/");
    await page.keyboard.type("no such thing at all");
    await page.getByText("Nothing found.", { exact: false }).first().waitFor();
    expect(complaints).toEqual([]);
    await context.close();
  });

  it("leads from an address to the meter that stands there", async () => {
    const { context, page } = await deskOf("ines");
    const point = await one(
      `SELECT a.value AS address, m.utility_number FROM service_point p JOIN personal_value a ON a.id = p.address_id JOIN meter m ON m.place_id = p.id
       WHERE (SELECT count(*) FROM meter o WHERE o.place_id = p.id) = 1
         AND (SELECT count(*) FROM personal_value o WHERE o.kind = 'address' AND o.value ILIKE '%' || a.value || '%') = 1 ORDER BY p.id LIMIT 1`,
    );
    // A page without a field of its own that takes the keyboard.
    await page.goto("/meter-moves");
    await page.getByRole("heading", { level: 1 }).waitFor();
    await page.keyboard.press("/");
    await page.keyboard.type(point.address ?? "");
    await options(page).first().waitFor();
    await page.keyboard.press("ArrowDown");
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: `Meter ${point.utility_number}` }).waitFor();
    await context.close();
  });
});

describe("the list of meters", () => {
  it("combines filters, keeps them by name, comes back from its address, and goes out as a file", async () => {
    const { context, page, complaints } = await deskOf("petra");
    await page.goto("/meters");
    await page.getByLabel("State").selectOption("in-service");
    await page.getByText("More filters").click();
    await page.getByLabel("Form").selectOption("2S");
    await page.getByLabel("Last test, as found").selectOption("pass");
    const expected = await one(
      `SELECT count(*)::int AS count FROM meter m JOIN meter_type y ON y.id = m.type_id
       WHERE m.state = 'in-service' AND y.form = '2S' AND (
         SELECT t.verdict_as_found FROM meter_test t WHERE t.meter_id = m.id AND t.outcome <> 'withdrawn'
           AND NOT EXISTS (SELECT FROM meter_test n WHERE n.supersedes_id = t.id)
         ORDER BY t.performed_at DESC, t.id DESC LIMIT 1) = 'pass'`,
    );
    expect(Number(expected.count)).toBeGreaterThan(0);
    const counted = `${Number(expected.count).toLocaleString("en")} ${Number(expected.count) === 1 ? "meter" : "meters"}`;
    await page.getByRole("status").filter({ hasText: counted }).waitFor();

    await page.getByRole("button", { name: "Columns" }).click();
    await page.getByLabel("Due on").check();
    await page.getByRole("button", { name: "Show these columns" }).click();
    await page.getByRole("columnheader", { name: "Due on" }).waitFor();

    await page.getByRole("button", { name: "Keep this view" }).click();
    await page.getByLabel("Name", { exact: true }).fill("Passed 2S in service");
    await page.keyboard.press("Enter");
    await page
      .getByLabel("View")
      .getByRole("option", { name: "Passed 2S in service", selected: true })
      .waitFor({ state: "attached" });

    const kept = page.url();
    await page.goto("/meters");
    await page.goto(kept);
    await page.getByRole("columnheader", { name: "Due on" }).waitFor();
    await page.getByRole("status").filter({ hasText: counted }).waitFor();
    expect(await page.getByLabel("Form").inputValue()).toBe("2S");
    expect(await accessibilityFindings(page)).toEqual([]);

    await page.goto("/meters");
    await page.getByLabel("View").selectOption({ label: "Passed 2S in service" });
    await page.getByRole("status").filter({ hasText: counted }).waitFor();

    await page.getByRole("button", { name: "Download" }).click();
    await page.getByLabel("CSV", { exact: true }).check();
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("link", { name: "Download" }).click(),
    ]);
    const rows: string[][] = parse(readFileSync(await download.path(), "utf8"));
    expect(rows.length - 1).toBe(Number(expected.count));
    expect(new Set(rows.slice(1).map((row) => row[rows[0]?.indexOf("Form") ?? -1]))).toEqual(new Set(["2S"]));
    expect(complaints).toEqual([]);
    await context.close();
  });

  it.each([820, 360])("fits a window of %i px", async (width) => {
    const { context, page } = await deskOf("petra", { width });
    for (const screen of [
      "/meters?state=in-service&due=late&lastVerdict=pass",
      "/work-items",
      "/work-calendar",
    ]) {
      await page.goto(screen);
      await page.getByRole("heading", { level: 1 }).first().waitFor();
      await page.waitForLoadState("networkidle");
      const overflow = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect(overflow, screen).toBe(0);
      expect(await accessibilityFindings(page), screen).toEqual([]);
    }
    await context.close();
  });
});

describe("due work", () => {
  it("is taken from the list, and a day of the calendar leads to its list", async () => {
    const { context, page, complaints } = await deskOf("ines");
    await page.goto("/work-items");
    const take = page.getByRole("button", { name: /^Take / }).first();
    const name = (await take.innerText()).replace("Take", "").trim();
    await take.focus();
    await page.keyboard.press("Enter");
    await page
      .getByRole("button", { name: `Give back ${name}` })
      .first()
      .waitFor();
    await page.getByLabel("Taken by").selectOption({ label: "You" });
    await page.getByRole("row").filter({ hasText: name }).first().waitFor();
    await page.getByRole("link", { name: "Calendar" }).click();
    await page.getByRole("heading", { name: /^Work in / }).waitFor();
    await page.goto("/work-calendar");
    await page.getByRole("link", { name: / late$/ }).click();
    await page.getByRole("heading", { name: "Work", exact: true }).waitFor();
    expect(new URL(page.url()).searchParams.get("to")).toMatch(/^\d{4}-\d\d-\d\d$/);
    expect(complaints).toEqual([]);
    await context.close();
  });
});
