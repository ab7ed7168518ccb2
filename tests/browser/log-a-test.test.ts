import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type Desk, openBrowser, openDesk, signInByKeyboard } from "../support/browser.ts";
import { tabTo, typeKeys } from "../support/keyboard.ts";
import { readPdf } from "../support/read-pdf.ts";

/**
 * A technician's afternoon, by keyboard alone. Expected registrations are R = 100 n K / (m W) worked out by hand
 * beside each test (n counts, K Wh per count, m the factor of form and circuits, W the standard's energy).
 */

let shop: TestApp;
let browser: Browser;
let desk: Desk;

beforeAll(async () => {
  shop = await testApp({}, { demo: true });
  const address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  desk = await openDesk(browser, address);
  await signInByKeyboard(
    desk.page,
    "ines",
    demoSignIns.find(({ username }) => username === "ines")?.password,
  );
});
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

/** A meter in service of this model under North Carolina's rules that has no open work. */
async function aMeter(model: string): Promise<{ id: string; utilityNumber: string }> {
  const { rows } = await shop.admin.query<{ id: string; utilityNumber: string }>(
    `SELECT m.id, m.utility_number AS "utilityNumber" FROM meter m JOIN meter_type t ON t.id = m.type_id
       JOIN service_point s ON s.id = m.place_id
     WHERE t.model = $1 AND m.state = 'in-service' AND s.jurisdiction = 'us-nc'
       AND NOT EXISTS (SELECT FROM work_item w WHERE w.meter_id = m.id) ORDER BY m.utility_number LIMIT 1`,
    [model],
  );
  const [meter] = rows;
  if (!meter) throw new Error(`the demo has a ${model} in service`);
  return meter;
}

/** From anywhere: find the meter by its number, give the reason, the standard and the confirmations. */
async function beginTest(meter: { id: string; utilityNumber: string }, isFirst = false): Promise<void> {
  const { page } = desk;
  await page.goto("/log");
  await page.getByRole("heading", { level: 1 }).waitFor();
  await typeKeys(page, meter.utilityNumber, ["Enter"]);
  await page.waitForURL(`**/log/${meter.id}`);
  await page.getByRole("heading", { name: `Test of meter ${meter.utilityNumber}` }).waitFor();
  // The first test of the afternoon says why and with which standard; the screen proposes the same for the next.
  if (isFirst) {
    await tabTo(page, "Periodic");
    await typeKeys(page, ["Space"]);
    await tabTo(page, "Standard");
    await typeKeys(page, "WS-1");
    await tabTo(page, "Yes, already applied");
    await typeKeys(page, ["Space"]);
  }
  await typeKeys(page, ["Alt+p"]);
}

/** Signs and saves, and returns the id of the test that was saved. */
async function signAndSave(): Promise<string> {
  const { page } = desk;
  await tabTo(page, "PIN of Ines Varga-Holt");
  await typeKeys(page, "2719", ["Control+Enter"]);
  const link = page.getByRole("link", { name: "Open the test" });
  await link.waitFor();
  return String((await link.getAttribute("href"))?.split("/").at(-1));
}

/** Opens the test's page, reloads it, and gives back its text. */
async function textOfTest(id: string): Promise<string> {
  const { page } = desk;
  const read = async () => {
    await page.getByRole("heading", { level: 1 }).waitFor();
    await page
      .getByText(/As found|No test possible/)
      .first()
      .waitFor();
    await page.waitForLoadState("networkidle");
    return (await page.getByRole("main").innerText()).replaceAll("\u2212", "-");
  };
  await page.goto(`/tests/${id}`);
  const text = await read();
  await page.reload();
  expect(await read()).toBe(text);
  return text;
}

async function textOfCertificate(id: string): Promise<string> {
  const reply = await desk.context.request.get(`/api/meter-tests/${id}/certificate.pdf`);
  expect(reply.headers()["content-type"]).toBe("application/pdf");
  return readPdf(await reply.body())
    .pages.join(" ")
    .replaceAll("\u2212", "-")
    .replace(/\s+/g, " ");
}

describe("logging tests by keyboard alone", () => {
  it("takes a three-element meter from counts and energies", async () => {
    const meter = await aMeter("HM-9");
    await beginTest(meter, true);
    await typeKeys(desk.page, ["Alt+c"]);
    await tabTo(desk.page, "Full load, standard's energy");
    // Form 9S, m = 3, Kt 0.45. FL: 100 x 100 x 0.45 / (3 x 15.000) = 100; LL: 100 x 20 x 0.45 / (3 x 3.012) = 99.6016;
    // PF: 100 x 60 x 0.45 / (3 x 8.964) = 100.4016. Method 1: (4 x 100 + 99.6016) / 5 = 99.9203.
    await typeKeys(desk.page, "15.000", ["Enter"], "3.012", ["Enter"], "8.964", ["Enter"]);
    await typeKeys(desk.page, ["Alt+l"]);
    await tabTo(desk.page, "Test voltage");
    await typeKeys(desk.page, "120");
    const id = await signAndSave();
    for (const text of [await textOfTest(id), await textOfCertificate(id)]) {
      for (const figure of ["100.000", "99.602", "100.402", "99.920", "-0.398"])
        expect(text).toContain(figure);
      expect(text).toContain("Within limits");
      expect(text).toContain("Ines Varga-Holt");
    }
  });

  it("takes a 2 1/2-element meter in a series test", async () => {
    const meter = await aMeter("HM-6");
    await beginTest(meter);
    await typeKeys(desk.page, ["Alt+c"]);
    await tabTo(desk.page, "Full load, standard's energy");
    // Form 6S in series, m = 4, Kh 1.8. FL: 100 x 20 x 1.8 / (4 x 9.036) = 99.6016; LL: 100 x 2 x 1.8 / (4 x 0.900) = 100;
    // PF: 100 x 10 x 1.8 / (4 x 4.500) = 100. Method 1: (4 x 99.6016 + 100) / 5 = 99.6813.
    await typeKeys(desk.page, "9.036", ["Enter"], "0.900", ["Enter"], "4.500", ["Enter"]);
    await typeKeys(desk.page, ["Alt+l"]);
    await tabTo(desk.page, "Test voltage");
    await typeKeys(desk.page, "120");
    const id = await signAndSave();
    for (const text of [await textOfTest(id), await textOfCertificate(id)]) {
      for (const figure of ["99.602", "100.000", "99.681"]) expect(text).toContain(figure);
      expect(text).toContain("Within limits");
    }
  });

  it("takes two runs a point and shows their mean", async () => {
    const meter = await aMeter("T-505");
    await beginTest(meter);
    await typeKeys(desk.page, ["Alt+c"]);
    await tabTo(desk.page, "Full load, run 1, standard's energy");
    // Form 5S, m = 2, Kt 0.3. FL: 100 x 60 x 0.3 / (2 x 9.000) = 100 and 100 x 60 x 0.3 / (2 x 9.018) = 99.8004, mean 99.9002;
    // LL: 100 x 12 x 0.3 / (2 x 1.800) = 100 twice; PF: 100 x 30 x 0.3 / (2 x 4.500) = 100 twice.
    // Method 1: (4 x 99.9002 + 100) / 5 = 99.9202.
    for (const energy of ["9.000", "9.018", "1.800", "1.800", "4.500", "4.500"])
      await typeKeys(desk.page, energy, ["Enter"]);
    await typeKeys(desk.page, ["Alt+l"]);
    await tabTo(desk.page, "Test voltage");
    await typeKeys(desk.page, "120");
    const id = await signAndSave();
    for (const text of [await textOfTest(id), await textOfCertificate(id)]) {
      for (const figure of ["99.900", "100.000", "99.920"]) expect(text).toContain(figure);
    }
  });

  it("takes a meter that fails as found and passes as left after adjustment", async () => {
    const meter = await aMeter("BF-210");
    await beginTest(meter);
    await typeKeys(desk.page, ["Alt+c"]);
    await tabTo(desk.page, "Full load, standard's energy");
    // Form 2S, m = 1, Kh 7.2. As found FL: 100 x 10 x 7.2 / 69.9 = 103.0043; LL: 100 x 1 x 7.2 / 7.0 = 102.8571;
    // PF: 100 x 10 x 7.2 / 70 = 102.8571. Method 1: (4 x 103.0043 + 102.8571) / 5 = 102.9749: over 102.
    await typeKeys(desk.page, "69.9", ["Enter"], "7.0", ["Enter"], "70", ["Enter"]);
    await typeKeys(desk.page, ["Alt+a"]);
    await tabTo(desk.page, "What was cleaned");
    await typeKeys(desk.page, "Full load and light load set", ["Tab"]);
    await tabTo(desk.page, "Full load, standard's energy");
    // As left FL: 720 / 7.2 = 100 exactly; LL: 720 / 7.2 = 100; PF: 7200 / 72.072 = 99.9001.
    await typeKeys(desk.page, "72", ["Enter"], "7.2", ["Enter"], "72.072", ["Enter"]);
    await tabTo(desk.page, "Does not creep");
    await typeKeys(desk.page, ["Space"]);
    await tabTo(desk.page, "Seals applied");
    await typeKeys(desk.page, "QV700001", ["Enter"]);
    await tabTo(desk.page, "Test voltage");
    await typeKeys(desk.page, "240");
    const id = await signAndSave();
    for (const text of [await textOfTest(id), await textOfCertificate(id)]) {
      for (const figure of ["103.004", "102.857", "102.975", "100.000", "99.900", "QV700001"])
        expect(text).toContain(figure);
      expect(text).toContain("Outside limits");
      expect(text).toContain("Within limits");
      expect(text).toContain("Full load and light load set");
    }
  });

  it("takes a meter that does not register as a result of its own", async () => {
    const meter = await aMeter("CV-20");
    await beginTest(meter);
    await typeKeys(desk.page, ["Alt+n"]);
    await tabTo(desk.page, "Not registering");
    await typeKeys(desk.page, ["Space"]);
    await tabTo(desk.page, "Note");
    await typeKeys(desk.page, "Load on, register still");
    const id = await signAndSave();
    for (const text of [await textOfTest(id), await textOfCertificate(id)]) {
      expect(text).toContain("No test possible");
      expect(text).toMatch(/not registering/i);
      expect(text).toContain("Load on, register still");
    }
  });

  it("left every test in the book with its ledger entry and signature", async () => {
    const { rows } = await shop.admin.query<{
      tests: number;
      entries: number;
      signatures: number;
      errors: number;
    }>(
      `SELECT count(*)::int AS tests, count(e.id)::int AS entries, count(s.id)::int AS signatures FROM meter_test t
         LEFT JOIN ledger_entry e ON e.id = t.entry_id AND e.subject_id = t.id::text AND e.actor_id = t.actor_id
         LEFT JOIN signature s ON s.subject_id = t.id
       WHERE t.recorded_at > now() - interval '10 minutes' AND t.method = 'entered'`,
    );
    expect(rows[0]).toEqual({ tests: 5, entries: 5, signatures: 5 });
    expect(desk.complaints).toEqual([]);
  });
});
