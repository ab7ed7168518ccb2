import { loadDemo } from "@sealbook/api/load-demo";
import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { appOn, type TestApp } from "../support/app.ts";
import { type Desk, openBrowser, openDesk, signInByKeyboard } from "../support/browser.ts";
import { aCable, type Cable } from "../support/cable.ts";
import { demoTemplate, freshDatabase } from "../support/fresh-database.ts";
import { tabTo, typeKeys } from "../support/keyboard.ts";

/** What would break in the shop: half a page of readings is gone because the database was restarted, or is there twice. */
let shop: TestApp;
let cable: Cable;
let browser: Browser;
let desk: Desk;

beforeAll(async () => {
  const database = await freshDatabase(await demoTemplate((pool) => loadDemo(pool)));
  cable = await aCable(database.appUrl);
  shop = await appOn({ ...database, appUrl: cable.url }, {}, { demo: true });
  const address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  desk = await openDesk(browser, address);
  const password = demoSignIns.find(({ username }) => username === "ines")?.password;
  await signInByKeyboard(desk.page, "ines", password);
});
afterAll(async () => {
  await browser?.close();
  await shop?.close();
  await cable?.close();
});

const energy = "Full load, standard's energy";

it("keeps what was typed while the database is away, and a second press of the button records it once", async () => {
  const { page } = desk;
  const { rows } = await shop.admin.query<{ id: string; utility_number: string }>(
    `SELECT m.id, m.utility_number FROM meter m JOIN meter_type t ON t.id = m.type_id
       JOIN service_point s ON s.id = m.place_id
     WHERE t.model = 'HM-9' AND m.state = 'in-service' AND s.jurisdiction = 'us-nc'
       AND NOT EXISTS (SELECT FROM work_item w WHERE w.meter_id = m.id) ORDER BY m.utility_number LIMIT 1`,
  );
  const meter = rows[0];
  if (meter === undefined) throw new Error("the demo has an HM-9 in service");
  const testsOfMeter = async (): Promise<number> => {
    const found = await shop.admin.query("SELECT FROM meter_test WHERE meter_id = $1", [meter.id]);
    return found.rowCount ?? 0;
  };
  const before = await testsOfMeter();

  await page.goto("/log");
  await page.getByRole("heading", { level: 1 }).waitFor();
  await typeKeys(page, meter.utility_number, ["Enter"]);
  await page.waitForURL(`**/log/${meter.id}`);
  await page.getByRole("heading", { name: `Test of meter ${meter.utility_number}` }).waitFor();
  await tabTo(page, "Periodic");
  await typeKeys(page, ["Space"]);
  await tabTo(page, "Standard");
  await typeKeys(page, "WS-1");
  await tabTo(page, "Yes, already applied");
  await typeKeys(page, ["Space"], ["Alt+p"], ["Alt+c"]);
  await tabTo(page, energy);
  await typeKeys(page, "15.000", ["Enter"], "3.012", ["Enter"], "8.964", ["Enter"], ["Alt+l"]);
  await tabTo(page, "Test voltage");
  await typeKeys(page, "120");

  await cable.close();
  await tabTo(page, "PIN of Ines Varga-Holt");
  await typeKeys(page, "2719", ["Control+Enter"]);
  await page.getByText("The database does not answer").first().waitFor();
  expect(await page.getByLabel(energy).first().inputValue()).toBe("15.000");
  expect(await testsOfMeter()).toBe(before);

  await cable.reopen();
  await expect
    .poll(async () => (await desk.context.request.get("/readyz")).status(), { timeout: 15_000 })
    .not.toBe(0);
  // This time it is recorded, and the answer is lost on its way back.
  let isLost = false;
  await page.route("**/api/meter-tests", async (route) => {
    const reply = await route.fetch();
    if (isLost || reply.status() !== 201) return await route.fulfill({ response: reply });
    isLost = true;
    return await route.abort("connectionreset");
  });
  await expect
    .poll(
      async () => {
        if (isLost) return true;
        await tabTo(page, "PIN of Ines Varga-Holt");
        await page.keyboard.press("Control+a");
        await typeKeys(page, "2719", ["Control+Enter"]);
        await page.waitForTimeout(500);
        return isLost;
      },
      { timeout: 30_000 },
    )
    .toBe(true);
  await page.getByText("The service could not be reached").first().waitFor();
  expect(await page.getByLabel(energy).first().inputValue()).toBe("15.000");
  expect(await testsOfMeter()).toBe(before + 1);

  await tabTo(page, "PIN of Ines Varga-Holt");
  await page.keyboard.press("Control+a");
  await typeKeys(page, "2719", ["Control+Enter"]);
  await page.getByRole("link", { name: "Open the test" }).waitFor();
  expect(await testsOfMeter()).toBe(before + 1);
});
