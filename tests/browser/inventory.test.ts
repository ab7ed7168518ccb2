import { createPlace } from "@sealbook/api/modules/places/places";
import { addServicePoints } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";
import {
  accessibilityFindings,
  type Desk,
  openBrowser,
  openDesk,
  signInByKeyboard,
} from "../support/browser.ts";
import { tabTo, typeKeys } from "../support/keyboard.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

let shop: TestApp;
let bench: MeterBench;
let browser: Browser;
let address: string;
let storekeeper: SignedIn;
let desk: Desk;
let page: Page;
let known: { utilityNumber: string; serial: string };
let model: string;

/** The list as the maker's delivery note gives it: a serial and a utility number a line. */
const list = Array.from({ length: 200 }, (_, n) => ({
  serial: `DN${String(n + 1).padStart(5, "0")}`,
  utilityNumber: `0042${String(n + 1).padStart(4, "0")}`,
}));
const numbers = list.map(({ utilityNumber }) => utilityNumber);

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  storekeeper = await shop.signIn("storekeeper");
  const typeId = await bench.aType(await bench.aPlan());
  const meter = await bench.aMeter(typeId);
  known = meter;
  model = (await shop.admin.query("SELECT model FROM meter_type WHERE id = $1", [typeId])).rows[0].model;
  await inTransaction(shop.admin, null, async (tx) => {
    const storeId = newId();
    await createPlace(tx, { id: storeId, kind: "store", name: "Main store" });
    await createPlace(tx, { id: newId(), kind: "shelf", name: "shelf A", parentId: storeId });
    await createPlace(tx, { id: newId(), kind: "van", name: "Van 12" });
    await addServicePoints(tx, [
      { id: newId(), number: "SP-1212", address: "12 Larch Lane", area: "North", jurisdiction: "us-nc" },
    ]);
  });
  // Three mistakes: a serial that stands twice, one that is on record, a utility number that is in use.
  Object.assign(list[41] ?? {}, { serial: list[40]?.serial });
  Object.assign(list[99] ?? {}, { serial: known.serial });
  Object.assign(list[150] ?? {}, { utilityNumber: known.utilityNumber });
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  desk = await openDesk(browser, address);
  page = desk.page;
  await signInByKeyboard(page, storekeeper.username);
}, 120_000);
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

/** What is pasted arrives at once, as from a clipboard. */
async function paste(field: string, text: string): Promise<void> {
  await tabTo(page, field);
  await page.keyboard.insertText(text);
}

/** Chooses in a field that offers what matches while one types. */
async function choose(field: string, text: string, option: RegExp): Promise<void> {
  await tabTo(page, field);
  await page.keyboard.type(text);
  await page.getByRole("option", { name: option }).first().waitFor();
  await typeKeys(page, ["ArrowDown"], ["Enter"]);
}

async function press(button: string): Promise<void> {
  await tabTo(page, button);
  await page.keyboard.press("Enter");
}

/** The browser's own list of choices: typing ahead chooses. */
async function select(field: string, text: string): Promise<void> {
  await tabTo(page, field);
  await page.keyboard.type(text);
}

async function openMeter(number: string): Promise<void> {
  const { rows } = await shop.admin.query("SELECT id FROM meter WHERE utility_number = $1", [number]);
  await page.goto(`/meters/${rows[0].id}`);
  await page.getByRole("heading", { level: 1, name: `Meter ${number}` }).waitFor();
}

/** Lines of the story, newest first, without their dates. */
async function story(): Promise<string[]> {
  await page.getByRole("heading", { name: "Story" }).waitFor();
  const lines = await page.locator(".meter-story > li > div > div:first-child").allInnerTexts();
  return lines.map((line) => line.trim());
}

async function recordMove(kind: string, fill: () => Promise<void>): Promise<void> {
  await press("Record a move");
  const dialog = page.getByRole("dialog");
  await dialog.waitFor();
  await select("What happened", kind);
  await fill();
  await press("Record it");
}

const dialogGone = () => page.getByRole("dialog").waitFor({ state: "detached" });

describe("by keyboard alone, the storekeeper", () => {
  it("receives 200 meters by pasted serials, and hears of three mistakes before anything is done", async () => {
    await page.goto("/meters/receive");
    await page.getByRole("heading", { level: 1, name: "Receive meters" }).waitFor();
    await choose("Type", model, new RegExp(model));
    await choose("Where they are", "Main store", /^Main store/);
    await paste("Serials", list.map(({ serial, utilityNumber }) => `${serial}\t${utilityNumber}`).join("\n"));
    await page.getByText("200 meters").waitFor();
    await press("Look through the list");
    await page.getByText("197 of 200 can be received, 3 cannot").waitFor();
    const rows = await page
      .getByRole("region", { name: /^Lines that cannot/ })
      .getByRole("row")
      .allInnerTexts();
    expect(rows.slice(1).map((row) => row.split(/\s+/)[0])).toEqual(["42", "100", "151"]);
    expect(rows.join("\n")).toContain("stands on line 41 already");
    expect(rows.join("\n")).toContain(`is on record as meter ${known.utilityNumber}`);
    expect(rows.join("\n")).toContain("belongs to a meter in use");
    expect(await accessibilityFindings(page)).toEqual([]);
    expect((await shop.admin.query("SELECT count(*)::int AS n FROM meter")).rows[0].n).toBe(1);
    await press("Receive the 197 good ones");
    await page.getByText("197 received, 3 left out").waitFor();
    // What was left out stays to be mended.
    expect((await page.getByLabel("Serials").inputValue()).split("\n")).toHaveLength(3);
    expect((await shop.admin.query("SELECT count(*)::int AS n FROM meter")).rows[0].n).toBe(198);
  });

  it("moves a tray to a shelf, and takes the move back and makes it anew", async () => {
    await page.goto("/meter-moves/new");
    const leave = page.getByRole("button", { name: "Leave, drop what I typed" });
    if (await leave.isVisible()) await leave.press("Enter");
    const tray = numbers.slice(0, 40);
    const move = async () => {
      await page.goto("/meter-moves/new");
      await page.getByRole("heading", { level: 1, name: "Move meters" }).waitFor();
      await select("What happens", "Put in stock");
      await choose("Where to", "shelf", /Main store, shelf A/);
      await paste("Meters", tray.join(" "));
      await press("Look through the tray");
      await page.getByText("40 of 40 can be moved").waitFor();
      expect(await accessibilityFindings(page)).toEqual([]);
      await press("Move 40 meters");
      await page.getByText("40 moved, 0 left out").waitFor();
    };
    await move();
    await press("Open the move");
    await page.getByRole("heading", { level: 1, name: "Put in stock: 40 meters" }).waitFor();
    await press("Take this move back");
    await page.getByRole("dialog").waitFor();
    await tabTo(page, "Reason");
    await page.keyboard.type("The tray beside it was meant");
    await press("Take it back");
    await page.getByRole("heading", { level: 1, name: "Taken back: 40 meters" }).waitFor();
    expect(await accessibilityFindings(page)).toEqual([]);
    const { rows } = await shop.admin.query("SELECT state, count(*)::int AS n FROM meter GROUP BY state");
    expect(rows).toEqual([{ state: "received", n: 198 }]);
    await move();
  });

  it("sets a meter with its reading, removes it past a rollover, retires it; and its story can be read aloud", async () => {
    await openMeter(numbers[0] ?? "");
    await recordMove("Set it", async () => {
      await choose("Service point", "1212", /SP-1212, 12 Larch Lane/);
      await tabTo(page, "Register reading");
      await page.keyboard.type("99990");
      await tabTo(page, "Seals put on");
      await page.keyboard.type("Q-7781");
      expect(await accessibilityFindings(page)).toEqual([]);
    });
    await dialogGone();
    await page.getByText("In service, service point SP-1212").waitFor();

    await recordMove("Remove it", async () => {
      await choose("Where to", "Van", /^Van 12/);
      await tabTo(page, "Register reading");
      await page.keyboard.type("00015");
      await tabTo(page, "Seals taken off");
      await page.keyboard.type("Q-7781");
    });
    await page
      .getByText(/the reading is lower than 99990/)
      .first()
      .waitFor();
    await select("About the reading", "The register rolled");
    await press("Record it");
    await dialogGone();

    await recordMove("Retire it", async () => {
      await choose("Where to", "Main store", /^Main store/);
      await tabTo(page, "Reason");
      await page.keyboard.type("Display failed");
    });
    await dialogGone();
    await page.getByText("Retired, Main store").waitFor();
    const by = `by storekeeper number 3`;
    expect(await story()).toEqual([
      `Retired at Main store ${by}.`,
      `Removed and taken to Van 12 ${by}, reading 00015 (rolled over). Seal Q-7781 taken off.`,
      `Set at 12 Larch Lane (service point SP-1212) ${by}, reading 99990. Seal Q-7781 put on.`,
      `Put in stock at Main store, shelf A ${by}.`,
      `Took back "Put in stock" of ${new Date().toLocaleDateString("sv-SE", { timeZone: "America/New_York" })} ${by}.`,
      `Put in stock at Main store, shelf A ${by}.`,
      `Received at Main store ${by}.`,
    ]);
    expect(await page.locator(".meter-story s").allInnerTexts()).toEqual([
      `Put in stock at Main store, shelf A ${by}.`,
    ]);
    expect(await accessibilityFindings(page)).toEqual([]);
  });

  it("hears why a move is not possible, and is left without complaint by the page", async () => {
    await page.goto("/meter-moves/new");
    await select("What happens", "Dispose of");
    await tabTo(page, "Reason");
    await page.keyboard.type("Scrap merchant");
    await paste("Meters", `${numbers[0]}\n${numbers[1]}\nNO-SUCH`);
    await press("Look through the tray");
    await page.getByText("1 of 3 can be moved, 2 cannot").waitFor();
    await page.getByText(`${numbers[1]} is in stock; only a retired meter can be disposed of.`).waitFor();
    expect(desk.complaints).toEqual([]);
  });
});
