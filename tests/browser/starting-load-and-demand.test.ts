import { createServicePoint } from "@sealbook/api/modules/service-points/service-points";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPin } from "../support/app.ts";
import {
  accessibilityFindings,
  type Desk,
  openBrowser,
  openDesk,
  signInByKeyboard,
} from "../support/browser.ts";
import { tabTo, typeKeys } from "../support/keyboard.ts";
import { fullLoad, meterBench } from "../support/meter-bench.ts";

/** A meter under Florida's rules, whose plan asks for starting load and demand, from entry to the record's page. */

let shop: TestApp;
let browser: Browser;
let desk: Desk;
let meterId: string;
let planId: string;

beforeAll(async () => {
  shop = await testApp();
  const bench = await meterBench(shop);
  const houseLimit = { minPercent: "99", maxPercent: "101", source: "House limit 7" };
  const plan = await bench.aPlan({
    points: [{ ...fullLoad, limits: { "in-service": houseLimit, "as-left": houseLimit } }],
    startingLoad: "asked",
    demand: { basis: "full-scale" },
  });
  planId = plan.id;
  const place = newId();
  await inTransaction(shop.admin, null, (tx) =>
    createServicePoint(tx, {
      id: place,
      number: `SP-${place.slice(-8)}`,
      address: "14 Heron Street",
      area: "Quillmoor East",
      jurisdiction: "us-fl",
    }),
  );
  meterId = (await bench.aMeter(await bench.aType(plan), place)).id;
  const address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  desk = await openDesk(browser, address);
  await signInByKeyboard(desk.page, bench.technician.username);
});
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

describe("a plan that asks for starting load and demand", () => {
  it("is answered by keyboard, judged while it is typed, and shown on the page of the record", async () => {
    const { page } = desk;
    await page.goto(`/log/${meterId}`);
    await page.getByRole("group", { name: "Demand, error in percent of full scale" }).waitFor();
    await tabTo(page, "Periodic");
    await typeKeys(page, ["Space"]);
    await tabTo(page, "Standard");
    await typeKeys(page, "RS-");
    await tabTo(page, "Yes, already applied");
    await typeKeys(page, ["Space"]);
    await tabTo(page, "Entered as");
    await typeKeys(page, "Reg");
    await tabTo(page, "Full load, registration");
    await typeKeys(page, "100", ["Alt+c"]);
    // Everything measured is within its limits, and the plan's questions are still open.
    await page.getByText("The plan asks whether the meter starts").first().waitFor();
    await page.getByText("The plan asks for demand, and no reading is entered.").first().waitFor();
    await tabTo(page, "Starts and goes on registering");
    await typeKeys(page, ["Space"]);
    await tabTo(page, "Meter indicates");
    // By hand: 100 x (54.01 - 50) / 100 = 4.01 % of full scale; F.A.C. 25-6.052(3)(a) allows 4 %.
    await typeKeys(page, "54.01", ["Enter"], "50", ["Enter"], "100");
    await page.getByText("Error 4.01 % of full scale.").first().waitFor();
    await page.getByText("0.01 % beyond the upper limit").first().waitFor();
    expect(await accessibilityFindings(page)).toEqual([]);
    await page.getByRole("textbox", { name: "Meter indicates" }).first().focus();
    await page.keyboard.press("Control+A");
    await typeKeys(page, "54", ["Alt+l"]);
    await page.getByText("4 % is exactly on the upper limit").first().waitFor();
    await tabTo(page, "PIN of technician");
    await typeKeys(page, testPin, ["Control+Enter"]);
    const link = page.getByRole("link", { name: "Open the test" });
    await link.waitFor();
    await link.click();
    await page.getByRole("heading", { level: 1 }).waitFor();
    await page.getByRole("table", { name: "Demand readings" }).first().waitFor();
    const text = await page.getByRole("main").innerText();
    expect(text).toContain("The meter starts at its starting load (asked by the test plan).");
    expect(text).toMatch(/Demand 1\s+54\s+50\s+100\s+\+4\s+±4\s+Within limits/);
    expect(await accessibilityFindings(page)).toEqual([]);
    await page.goto(`/plans/${planId}`);
    await page.getByText("checked, error in percent of full scale").waitFor();
    expect(desk.complaints).toEqual([]);
  });
});
