import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPassword } from "../support/app.ts";
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
let administrator: SignedIn;

beforeAll(async () => {
  shop = await testApp();
  administrator = await shop.signIn("administrator");
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

async function deskOf(username: string, password = testPassword): Promise<Desk> {
  const desk = await openDesk(browser, address);
  await signInByKeyboard(desk.page, username, password);
  return desk;
}

const heading = (page: Page, name: string) => page.getByRole("heading", { level: 1, name }).waitFor();

describe("a new person", () => {
  it("is let in by an administrator, chooses a password first, loses it, and is let in again", async () => {
    const boss = await deskOf(administrator.username);
    await boss.page.goto("/people");
    await boss.page.getByRole("button", { name: "Open an account" }).click();
    const opening = boss.page.getByRole("dialog");
    await opening.getByLabel("Name", { exact: true }).fill("Philippa Ward-Lowe");
    await opening.getByLabel("Sign-in name").fill("philippa");
    await opening.getByLabel("Role").selectOption("technician");
    await opening.getByLabel("First password").fill("first given words");
    await opening.getByRole("button", { name: "Open the account" }).click();
    await boss.page.getByRole("link", { name: "Philippa Ward-Lowe" }).click();
    await heading(boss.page, "Philippa Ward-Lowe");
    await boss.page.getByText("No session is open.").waitFor();
    expect(await accessibilityFindings(boss.page)).toEqual([]);

    const own = await deskOf("philippa", "first given words");
    await heading(own.page, "Choose your own password");
    // Nothing else opens, whatever address is typed.
    await own.page.goto("/meters");
    await heading(own.page, "Choose your own password");
    expect(await accessibilityFindings(own.page)).toEqual([]);
    await own.page.getByLabel("Present password").fill("first given words");
    await own.page.getByLabel("New password", { exact: true }).fill("seven tin whistles");
    await own.page.getByLabel("New password again").fill("seven tin whistles");
    await own.page.keyboard.press("Enter");
    await heading(own.page, "Meters");

    await boss.page.reload();
    await boss.page.getByRole("button", { name: "One-time password" }).click();
    await boss.page.getByLabel("Reason").fill("Lost it on the first day");
    await boss.page.getByRole("button", { name: "Give a one-time password" }).click();
    await boss.page.getByText("This is shown once").waitFor();
    const given = (await boss.page.getByRole("dialog").locator("code").innerText()).trim();
    expect(given).toMatch(/^([a-z2-9]{4}-){3}[a-z2-9]{4}$/);
    await boss.page.getByRole("button", { name: "I have kept it" }).click();
    const again = await deskOf("philippa", given);
    await heading(again.page, "Choose your own password");
    for (const { complaints } of [boss, own, again]) expect(complaints).toEqual([]);
  });
});

describe("one's own account", () => {
  it("shows where one is signed in, ends a session there, makes a token and revokes it", async () => {
    const person = await shop.signIn("technician");
    const desk = await deskOf(person.username);
    const { page, complaints } = desk;
    await page.goto("/account");
    const sessions = page.getByRole("table", { name: /Your open sessions/ });
    await sessions.waitFor();
    expect(await sessions.getByRole("row").count()).toBe(3);
    await sessions.getByRole("button", { name: /^End/ }).click();
    await expect.poll(() => sessions.getByRole("row").count()).toBe(2);
    await person.agent.get("/api/session").expect(401);

    await page.getByRole("button", { name: "Make a token" }).click();
    const dialog = page.getByRole("dialog");
    await dialog.getByLabel("What it is for").fill("Bench 3");
    await dialog.getByLabel(/^Record tests/).check();
    await dialog.getByLabel("Your password").fill("wrong password");
    await dialog.getByRole("button", { name: "Make the token" }).click();
    await dialog.getByText("This is not your present password").first().waitFor();
    // Nothing typed is lost by the refusal.
    expect(await dialog.getByLabel("What it is for").inputValue()).toBe("Bench 3");
    await dialog.getByLabel("Your password").fill(testPassword);
    await dialog.getByRole("button", { name: "Make the token" }).click();
    await page.getByText("This is shown once").waitFor();
    const secret = (await page.getByRole("dialog").locator("code").first().innerText()).trim();
    await shop.stranger().get("/api/meters").set("authorization", `Bearer ${secret}`).expect(200);
    await page.getByRole("button", { name: "I have kept it" }).click();
    await page.getByRole("button", { name: /^Revoke/ }).click();
    await page.getByRole("button", { name: "Revoke it" }).click();
    await page.getByText("revoked", { exact: true }).waitFor();
    expect(await accessibilityFindings(page)).toEqual([]);
    await shop.stranger().get("/api/meters").set("authorization", `Bearer ${secret}`).expect(401);
    expect(await page.content()).not.toContain(secret);
    expect(complaints).toEqual([]);
  });
});

describe("a regulator", () => {
  it("finds reports, rules and the signed log, and nothing of the daily work; each look is on record", async () => {
    const regulator = await shop.signIn("regulator");
    const { page, complaints } = await deskOf(regulator.username);
    await heading(page, "Reports");
    const rail = page.getByRole("navigation", { name: "Parts of the book" });
    expect(await rail.getByRole("link").allInnerTexts()).toEqual(["Reports", "Rules", "Signed log", "Shop"]);
    expect(await page.getByRole("searchbox").count()).toBe(0);
    await rail.getByRole("link", { name: "Rules" }).click();
    await heading(page, "Rules");
    await page.goto("/meters");
    await page.getByText("Your role may not do this.").first().waitFor();
    const looks = await administrator.agent.get("/api/looks").query({ actorId: regulator.id }).expect(200);
    const operations = looks.body.rows.map(({ operation }: { operation: string }) => operation);
    expect(operations).toEqual(expect.arrayContaining(["reports.list", "profiles.list"]));

    const boss = await deskOf(administrator.username);
    await boss.page.goto(`/looks?actorId=${regulator.id}`);
    await boss.page.getByRole("table", { name: /Looks/ }).waitFor();
    expect(await accessibilityFindings(boss.page)).toEqual([]);
    for (const found of [complaints, boss.complaints]) expect(found).toEqual([]);
  });
});
