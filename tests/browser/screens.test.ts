import { inventoryFlagTasks } from "@sealbook/api/modules/inventory-flags/jobs";
import { newId } from "@sealbook/api/platform/transaction";
import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import { pino } from "pino";
import type { Browser } from "playwright-core";
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
let screens: string[];

/** Two meters put in stock at once, and a look through the inventory, which the demo's story does not tell. */
async function aTray(): Promise<string> {
  const store = (await shop.admin.query("SELECT id FROM place WHERE kind = 'store' ORDER BY name LIMIT 1"))
    .rows[0];
  const { rows } = await shop.admin.query<{ utility_number: string }>(
    "SELECT utility_number FROM meter WHERE state = 'in-stock' AND place_id <> $1 ORDER BY id LIMIT 2",
    [store.id],
  );
  const { rows: others } = await shop.admin.query<{ utility_number: string }>(
    "SELECT utility_number FROM meter WHERE state = 'received' ORDER BY id LIMIT 2",
  );
  const numbers = (rows.length > 0 ? rows : others).map(({ utility_number }) => utility_number);
  const storekeeper = await shop.signIn("storekeeper");
  const id = newId();
  await storekeeper.agent
    .post("/api/meter-moves")
    .send({
      ...{ id, kind: "stock", performedAt: null, placeId: store.id, reason: "Shelves put in order" },
      lines: numbers.map((number) => ({ number, registerReading: null, readingNote: null })),
      ...{ onlyGood: false, expected: numbers.length },
    })
    .expect(201);
  const { body } = await storekeeper.agent
    .post("/api/inventory-checks")
    .set("idempotency-key", newId())
    .expect(202);
  const check = inventoryFlagTasks(shop.app.database, pino({ level: "silent" }))["inventory-check"];
  await check?.({ number: body.number }, { signal: new AbortController().signal, lastAttempt: true });
  return id;
}

/** Every screen with something on it: lists, and one record of each kind. */
async function screensOfTheDemo(): Promise<string[]> {
  const one = async (sql: string) => String((await shop.admin.query<{ id: string }>(sql)).rows[0]?.id);
  const failed = await one(
    "SELECT id FROM meter_test WHERE verdict_as_found = 'fail' AND verdict_as_left = 'pass' ORDER BY performed_at DESC LIMIT 1",
  );
  const untestable = await one(
    "SELECT id FROM meter_test WHERE outcome = 'no-test-possible' ORDER BY performed_at DESC LIMIT 1",
  );
  const mine = await one(
    "SELECT t.id FROM meter_test t JOIN account a ON a.id = t.tester_id WHERE a.username = 'ines' AND t.outcome = 'tested' ORDER BY t.performed_at DESC LIMIT 1",
  );
  const meter = await one(
    "SELECT meter_id AS id FROM meter_test GROUP BY meter_id ORDER BY count(*) DESC, meter_id LIMIT 1",
  );
  const store = await one("SELECT id FROM place WHERE kind = 'store' ORDER BY name LIMIT 1");
  const standard = await one("SELECT id FROM standard WHERE designation = 'RS-1'");
  const type = await one("SELECT id FROM meter_type WHERE model = 'HM-6'");
  const plan = await one("SELECT id FROM test_plan WHERE code = 'PP-TWO-RUNS'");
  const rule = await one("SELECT id FROM rule_profile WHERE key = 'us-mi'");
  const entry = await one(
    "SELECT id FROM ledger_entry WHERE action = 'meterTest.record' ORDER BY id DESC LIMIT 1",
  );
  const person = await one("SELECT id FROM account WHERE username = 'alder'");
  const shipment = await one(
    "SELECT id FROM lot WHERE kind = 'shipment' AND state = 'closed' ORDER BY id LIMIT 1",
  );
  const waiting = await one(
    "SELECT id FROM lot WHERE kind = 'in-service' AND state = 'drawn' ORDER BY id LIMIT 1",
  );
  const rejected = await one("SELECT lot_id AS id FROM corrective_action ORDER BY id LIMIT 1");
  const programme = await one("SELECT id FROM programme ORDER BY id DESC LIMIT 1");
  const scheme = await one("SELECT id FROM sampling_scheme ORDER BY id LIMIT 1");
  const report = await one("SELECT report_id AS id FROM report_release ORDER BY report_id LIMIT 1");
  return [
    "/log",
    `/log/${meter}`,
    "/meters",
    "/meters/new",
    `/meters/${meter}`,
    `/meters/${meter}/edit`,
    "/meters/receive",
    "/meter-moves",
    "/meter-moves/new",
    `/meter-moves/${await aTray()}`,
    "/to-settle",
    "/to-settle?state=settled",
    "/places",
    `/places/${store}`,
    "/tests",
    `/tests/${failed}`,
    `/tests/${untestable}`,
    `/tests/${mine}/amend`,
    "/tray",
    "/work-items",
    "/work-calendar",
    "/work-items/new",
    "/imports",
    "/standards",
    "/standards/new",
    `/standards/${standard}`,
    "/types",
    "/types/new",
    `/types/${type}`,
    `/types/${type}/edit`,
    "/plans",
    "/plans/new",
    `/plans/${plan}`,
    `/plans/${plan}/revise`,
    "/plan-chooser",
    "/plan-chooser?standard=z1.9&lotSize=5000",
    "/schemes",
    "/schemes/new",
    "/schemes/new?from=michigan-in-service",
    `/schemes/${scheme}`,
    `/schemes/${scheme}/revise`,
    "/shipments",
    "/shipments/new",
    `/shipments/${shipment}`,
    "/groups",
    `/groups/${waiting}`,
    `/groups/${rejected}`,
    `/programmes/${programme}`,
    `/programmes/${programme}/pulls`,
    "/programmes/new",
    "/group-years",
    "/corrective-actions",
    "/draw-rules",
    "/series",
    "/service-points",
    "/service-points/new",
    "/reports",
    "/reports/new",
    `/reports/${report}`,
    `/reports/${report}?by=test-period&load=asFound/fullLoad`,
    `/reports/${report}/tests?figure=outsideLimits`,
    "/rules",
    `/rules/${rule}`,
    "/rules/propose",
    `/rules/propose?from=${rule}`,
    "/ledger",
    `/ledger/${entry}`,
    "/looks",
    "/signed-log",
    "/people",
    `/people/${person}`,
    "/shop",
    "/account",
    "/no-such-page",
  ];
}

beforeAll(async () => {
  shop = await testApp({}, { demo: true });
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  screens = await screensOfTheDemo();
});
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

async function deskOf(
  username: string,
  options: { width?: number; colorScheme?: "light" | "dark" } = {},
): Promise<Desk> {
  const desk = await openDesk(browser, address, options);
  const password = demoSignIns.find((person) => person.username === username)?.password ?? "";
  await signInByKeyboard(desk.page, username, password);
  return desk;
}

describe("every screen", () => {
  const views = [
    { name: "at 1280 px", username: "marguerite", options: { width: 1280 } },
    { name: "at a tablet's width", username: "ines", options: { width: 820 } },
    {
      name: "in the dark, for an administrator",
      username: "rowan",
      options: { width: 1280, colorScheme: "dark" },
    },
  ] as const;

  for (const view of views) {
    it(`passes axe without violations and fits its width ${view.name}`, async () => {
      const { context, page, complaints } = await deskOf(view.username, view.options);
      const findings: string[] = [];
      for (const screen of screens) {
        await page.goto(screen);
        await page.getByRole("heading", { level: 1 }).first().waitFor();
        await page.waitForLoadState("networkidle");
        for (const finding of await accessibilityFindings(page)) findings.push(`${screen}: ${finding}`);
        const overflow = await page.evaluate(
          () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
        );
        if (overflow > 0) findings.push(`${screen}: ${overflow} px wider than the window`);
      }
      await context.close();
      expect(findings).toEqual([]);
      expect(complaints).toEqual([]);
    });
  }

  it("shows a stranger the sign-in page, without violations", async () => {
    const { context, page } = await openDesk(browser, address);
    await page.goto("/meters");
    await page.getByRole("button", { name: "Sign in" }).first().waitFor();
    expect(await accessibilityFindings(page)).toEqual([]);
    await context.close();
  });
});
