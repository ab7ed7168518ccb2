import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type Desk, openBrowser, openDesk, signInByKeyboard } from "../support/browser.ts";
import { focusedName, tabTo, typeKeys } from "../support/keyboard.ts";

// What stands around every page: the way in, the find box, and what becomes of a form when the session ends, somebody
// else saves first, or the connection is lost. In all of these the shop must lose nothing that was typed.

let shop: TestApp;
let browser: Browser;
let address: string;

beforeAll(async () => {
  shop = await testApp({}, { demo: true });
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

const passwordOf = (username: string) =>
  demoSignIns.find((person) => person.username === username)?.password ?? "";

async function deskOf(username: string): Promise<Desk> {
  const desk = await openDesk(browser, address);
  await signInByKeyboard(desk.page, username, passwordOf(username));
  return desk;
}

async function one(sql: string): Promise<string> {
  const { rows } = await shop.admin.query<{ value: string }>(sql);
  const value = rows[0]?.value;
  if (value === undefined) throw new Error(`the demo shop has nothing for: ${sql}`);
  return value;
}

/** Opens the form of a type of meter, changes its model, and gives the type's id. */
async function changeModel({ page }: Desk, model: string, newModel: string): Promise<string> {
  const id = await one(`SELECT id AS value FROM meter_type WHERE model = '${model}'`);
  await page.goto(`/types/${id}/edit`);
  await page.getByLabel("Model").fill(newModel);
  await page.getByLabel("Reason for the change").fill("Letter printed on the newer plates");
  return id;
}

describe("the way in", () => {
  it("leads a stranger to the sign-in page and, by keyboard, back to where they wanted to go", async () => {
    const { context, page } = await openDesk(browser, address);
    await page.goto("/types?from=a-bookmark");
    await page.getByRole("heading", { name: "Sealbook" }).waitFor();
    expect(await focusedName(page)).toBe("Name");
    await typeKeys(page, "marguerite", ["Tab"], "not her password", ["Enter"]);
    await page.getByRole("alert").waitFor();
    expect(await page.getByRole("alert").innerText()).toMatch(/name and password do not belong/);
    expect(await page.getByLabel("Name", { exact: true }).inputValue()).toBe("marguerite");
    await page.getByLabel("Password").fill(passwordOf("marguerite"));
    await page.keyboard.press("Enter");
    await page.getByRole("heading", { name: "Meter types" }).waitFor();
    expect(new URL(page.url()).pathname).toBe("/types");
    await context.close();
  });

  it("never leads to another site after signing in", async () => {
    const { context, page } = await openDesk(browser, address);
    await page.goto("/sign-in?from=//elsewhere.example/steal");
    await page.getByRole("button", { name: "Sign in", exact: true }).waitFor();
    await typeKeys(page, "petra", ["Tab"], passwordOf("petra"), ["Enter"]);
    await page.getByRole("button", { name: "Sign out" }).waitFor();
    expect(new URL(page.url()).origin).toBe(address);
    await context.close();
  });

  it("opens each demo sign-in with one press, and signing out leaves nothing of it behind", async () => {
    const { context, page } = await openDesk(browser, address);
    await page.goto("/sign-in");
    await page.getByRole("button", { name: "Sign in as Alder" }).click();
    await page.getByRole("button", { name: "Sign out" }).click();
    await page.getByRole("button", { name: "Sign in", exact: true }).waitFor();
    await page.goto("/ledger");
    await page.getByRole("button", { name: "Sign in", exact: true }).waitFor();
    await context.close();
  });
});

describe("the find box", () => {
  it("opens the meter that a scanner types, scan after scan", async () => {
    const { context, page } = await deskOf("ines");
    const numbers = (
      await shop.admin.query<{ utility_number: string }>(
        "SELECT utility_number FROM meter ORDER BY utility_number LIMIT 2",
      )
    ).rows.map((row) => row.utility_number);
    await page.goto("/work-items");
    await page.getByRole("heading", { name: "Work" }).waitFor();
    await page.keyboard.press("/");
    for (const number of numbers) {
      await typeKeys(page, number, ["Enter"]);
      await page.getByRole("heading", { name: `Meter ${number}` }).waitFor();
    }
    await context.close();
  });

  it("lists what matches when the number is not a whole one, and offers to add what is not there", async () => {
    const { context, page } = await deskOf("ines");
    await page.keyboard.press("Escape");
    await page.getByRole("combobox", { name: /^Find a meter/ }).fill("no-such-number");
    await page.keyboard.press("Enter");
    await page.getByText("No meter matches.").waitFor();
    expect(new URL(page.url()).searchParams.get("q")).toBe("no-such-number");
    await page.getByRole("link", { name: "add meter no-such-number" }).click();
    expect(await page.getByLabel("Utility number").inputValue()).toBe("no-such-number");
    await context.close();
  });
});

describe("a form", () => {
  it("names every mistake at its field and in a summary that takes the focus", async () => {
    const desk = await deskOf("marguerite");
    const { page } = desk;
    await changeModel(desk, "T-505", "T-505");
    await page.getByLabel("Kh", { exact: true }).fill("1,2");
    await page.getByLabel("Reason for the change").fill("");
    await page.getByRole("button", { name: "Save the change" }).click();
    await page.getByText("Mend these, then try again.").waitFor();
    expect(await focusedName(page)).toContain("Kh");
    expect(await page.getByLabel("Kh", { exact: true }).getAttribute("aria-invalid")).toBe("true");
    await tabTo(page, "Kh");
    await page.keyboard.press("Enter");
    expect(await page.evaluate(() => document.activeElement?.id)).toBe("field-kh");
    expect(await page.getByLabel("Kh", { exact: true }).inputValue()).toBe("1,2");
    await desk.context.close();
  });

  it("asks before unsaved work is left, and stays when told to", async () => {
    const desk = await deskOf("marguerite");
    const { page } = desk;
    const id = await changeModel(desk, "T-404", "T-404X");
    await page.getByRole("link", { name: "Ledger" }).click();
    await page.getByRole("dialog", { name: "Leave without saving?" }).waitFor();
    await page.getByRole("button", { name: "Stay here" }).click();
    expect(new URL(page.url()).pathname).toBe(`/types/${id}/edit`);
    expect(await page.getByLabel("Model").inputValue()).toBe("T-404X");
    await desk.context.close();
  });

  it("keeps what was typed when the session ends, and saves it after signing in again", async () => {
    const desk = await deskOf("marguerite");
    const { page, context } = desk;
    const id = await changeModel(desk, "CV-20", "CV-20E");
    await context.clearCookies();
    await page.getByRole("button", { name: "Save the change" }).click();
    await page.getByRole("dialog", { name: "Your session has ended" }).waitFor();
    expect(await focusedName(page)).toBe("Password");
    await typeKeys(page, passwordOf("marguerite"), ["Enter"]);
    await page.getByRole("dialog").waitFor({ state: "detached" });
    expect(await page.getByLabel("Model").inputValue()).toBe("CV-20E");
    await page.getByRole("button", { name: "Save the change" }).click();
    await page.getByRole("heading", { name: "CV-20E" }).waitFor();
    expect(await one(`SELECT model AS value FROM meter_type WHERE id = '${id}'`)).toBe("CV-20E");
    await context.close();
  });

  it("shows both versions when somebody else saved first, and puts one's own change on top of theirs", async () => {
    const first = await deskOf("marguerite");
    const second = await deskOf("dorian");
    const id = await changeModel(first, "HM-16", "HM-16B");
    await second.page.goto(`/types/${id}/edit`);
    await second.page.getByLabel("Register digits").fill("7");
    await second.page.getByLabel("Reason for the change").fill("Dials counted again");
    await second.page.getByRole("button", { name: "Save the change" }).click();
    await second.page.getByRole("heading", { name: "HM-16" }).waitFor();

    const { page } = first;
    await page.getByRole("button", { name: "Save the change" }).click();
    const notice = page.getByRole("alert").filter({ hasText: "Someone saved a newer version" });
    await notice.waitFor();
    const rows = await notice.getByRole("row").allInnerTexts();
    expect(rows.some((row) => /^Model\s+HM-16\s+HM-16\s+HM-16B$/.test(row))).toBe(true);
    expect(rows.some((row) => /^Register digits\s+\d\s+7\s+7$/.test(row))).toBe(true);
    await page.getByRole("button", { name: "Put my changes on top and save" }).click();
    await page.getByRole("heading", { name: "HM-16B" }).waitFor();
    expect(
      await one(`SELECT model || ' ' || register_dials AS value FROM meter_type WHERE id = '${id}'`),
    ).toBe("HM-16B 7");
    await first.context.close();
    await second.context.close();
  });

  it("keeps what was typed when the connection is lost, and sends it once it is back", async () => {
    const { context, page } = await deskOf("marguerite");
    await page.goto("/service-points/new");
    await page.getByLabel("Number", { exact: true }).fill("00099001");
    await page.getByLabel("Address", { exact: true }).fill("1 Test Lane");
    await page.getByLabel("Area").fill("Tarnside");
    await context.setOffline(true);
    await page.getByRole("button", { name: "Add the service point" }).click();
    await page.getByText("The service could not be reached.").waitFor();
    expect(await page.getByLabel("Address", { exact: true }).inputValue()).toBe("1 Test Lane");
    await context.setOffline(false);
    await page.getByRole("button", { name: "Add the service point" }).click();
    await page.getByRole("heading", { name: "Service points" }).waitFor();
    await page.getByRole("rowheader", { name: "00099001" }).waitFor();
    await context.close();
  });
});

describe("a page", () => {
  it("says so when its code cannot be fetched, and comes when the connection is back", async () => {
    const { context, page } = await deskOf("alder");
    await page.getByRole("link", { name: "Rules" }).waitFor();
    await page.waitForLoadState("networkidle");
    await context.setOffline(true);
    await page.getByRole("link", { name: "Rules" }).click();
    await page.getByText("There is no connection.").waitFor();
    await context.setOffline(false);
    await page.getByRole("button", { name: "Try again" }).click();
    await page.getByRole("heading", { name: "Rules" }).waitFor();
    await context.close();
  });

  it("tells somebody whose role may not use it, before they fill anything in", async () => {
    const { context, page, complaints } = await deskOf("alder");
    await page.goto("/plans/new");
    await page.getByRole("heading", { name: "Not for your role" }).waitFor();
    expect(complaints).toEqual([]);
    await context.close();
  });

  it("shows times in the shop's zone, not in the browser's", async () => {
    // The desk's browser stands in Tokyo, the shop in New York: an entry of 2026-03-02T19:05Z is 14:05 there.
    const { context, page } = await deskOf("rowan");
    const at = await one(
      "SELECT to_char(at AT TIME ZONE 'America/New_York', 'YYYY-MM-DD HH24:MI') AS value FROM ledger_entry ORDER BY id DESC LIMIT 1",
    );
    await page.goto("/ledger");
    await page.getByRole("rowheader").first().waitFor();
    expect(await page.getByRole("rowheader").first().innerText()).toBe(at);
    await context.close();
  });

  it("keeps the choice between light and dark for the next visit", async () => {
    const { context, page } = await deskOf("alder");
    const paper = () => page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
    const light = await paper();
    await page.getByLabel("Colours").selectOption("dark");
    const dark = await paper();
    expect(dark).not.toBe(light);
    await page.reload();
    await page.getByRole("button", { name: "Sign out" }).waitFor();
    expect(await paper()).toBe(dark);
    await context.close();
  });
});
