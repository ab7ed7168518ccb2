import { createHash } from "node:crypto";
import { readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { importTasks } from "@sealbook/api/modules/imports/jobs";
import { createPlace } from "@sealbook/api/modules/places/places";
import { type Jobs, startJobs } from "@sealbook/api/platform/jobs";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { pino } from "pino";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp, testPassword } from "../support/app.ts";
import {
  accessibilityFindings,
  type Desk,
  openBrowser,
  openDesk,
  signInByKeyboard,
} from "../support/browser.ts";
import { tabTo, typeKeys } from "../support/keyboard.ts";
import { type MakerList, makerList, makerListColumns } from "../support/maker-list.ts";
import { approval, type SamplingBench, samplingBench, shipmentScheme } from "../support/sampling-bench.ts";

// MIL-STD-105E, Table I: 1,201 to 3,200 meters at level II are letter K; Table II-A: letter K at AQL 1.0 is n 125, Ac 3,
// Re 4.
const lotSize = 3_000;
const [sampleSize, ac, re] = [125, 3, 4];
/** Limits of the scheme are 98 to 102 %: these readings at full load do not conform, and Ac allows for three. */
const nonconforming = ["102.31", "97.64", "102.02"];

let shop: TestApp;
let bench: SamplingBench;
let jobs: Jobs;
let browser: Browser;
let address: string;
let storekeeper: SignedIn;
/** Runs the shop and lends a hand at the bench. */
let supervisor: SignedIn;
let list: MakerList;
let listPath: string;
const desks: Desk[] = [];

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  storekeeper = await shop.signIn("storekeeper");
  supervisor = await shop.signIn("supervisor");
  await inTransaction(shop.admin, null, (tx) =>
    createPlace(tx, { id: newId(), kind: "store", name: "Main store" }),
  );
  await bench.aScheme({
    ...shipmentScheme,
    plan: { kind: "attributes", edition: "MIL-STD-105E", level: "II", aqlPercent: "1" },
  });
  const typeId = await bench.aType({ model: "AW-K3000" });
  const [known] = await bench.received(typeId, 1);
  const [other] = await bench.received(await bench.aType(), 1);
  // A dozen rows are bad beside the 3,000 that come to be the lot.
  list = makerList({
    rows: lotSize + 12,
    seed: 3_000,
    prefix: "K3",
    spoil: { serialOfOtherType: `S${other}`, numberTaken: known ?? "" },
  });
  listPath = join(tmpdir(), `makers-list-${process.pid}.csv`);
  await writeFile(listPath, list.csv);
  const log = pino({ level: "silent" });
  const { database } = shop.app;
  jobs = await startJobs({ database, tasks: importTasks(database, log), log });
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  await jobs?.stop();
  await bench?.close();
  await shop?.close();
  await rm(listPath, { force: true });
});

async function deskOf(person: SignedIn): Promise<Page> {
  const desk = await openDesk(browser, address);
  desks.push(desk);
  await signInByKeyboard(desk.page, person.username);
  return desk.page;
}

/** Opens the shipment and goes to the step that it waits for, by keyboard. */
async function openAtStep(page: Page, lotId: string, step: number): Promise<void> {
  await page.goto(`/shipments/${lotId}`);
  await page.getByRole("link", { name: `Next, step ${step}:` }).waitFor();
  await tabTo(page, `Next, step ${step}:`);
  await typeKeys(page, ["Enter"]);
}

const idIn = (page: Page) => new URL(page.url()).pathname.split("/").at(-1) ?? "";

const meanings: Record<(typeof makerListColumns)[keyof typeof makerListColumns], string> = {
  serial: "Maker's serial",
  utilityNumber: "Utility number",
  firmware: "Firmware",
  program: "Program",
  purchasedOn: "Purchased on",
  fullLoad: "Maker's result, full load",
  lightLoad: "Maker's result, light load",
  powerFactor: "Maker's result, power factor",
};

it("takes a shipment of 3,000 meters from the maker's list to the signed decision and into stock", async () => {
  // The storekeeper opens the shipment and takes the maker's list in.
  const dock = await deskOf(storekeeper);
  await dock.goto("/shipments/new");
  await dock.getByRole("heading", { name: "Take in a shipment" }).waitFor();
  await tabTo(dock, "Number");
  await typeKeys(dock, "SH-2026-31");
  await tabTo(dock, "Type");
  await typeKeys(dock, "AW-K3000", ["ArrowDown"], ["Enter"]);
  await tabTo(dock, "Contract");
  await typeKeys(dock, "C-2026-07");
  await tabTo(dock, "Received on");
  await typeKeys(dock, ["Control+a"], "2026-11-20");
  await tabTo(dock, "Open the shipment");
  await typeKeys(dock, ["Enter"]);
  await dock.getByRole("heading", { name: "Shipment SH-2026-31" }).waitFor();
  const lotId = idIn(dock);
  expect(await accessibilityFindings(dock)).toEqual([]);
  await dock.getByLabel("Take in the maker's list").and(dock.locator("input")).setInputFiles(listPath);
  await dock.waitForURL("**/imports/*");
  const importPath = new URL(dock.url()).pathname;

  // What the columns mean, by keyboard.
  await tabTo(dock, "Make a new mapping");
  await typeKeys(dock, ["Enter"]);
  await tabTo(dock, "Name of the mapping");
  await typeKeys(dock, "Alderwick lists");
  // Firmware 4.2 and errors such as 0,12 leave the decimal mark in doubt, so it is asked.
  await tabTo(dock, "Decimal mark");
  await typeKeys(dock, "Comma");
  for (const [heading, field] of Object.entries(makerListColumns)) {
    await tabTo(dock, `Meaning of column ${heading}`);
    await typeKeys(dock, meanings[field], ["ArrowDown"], ["Enter"]);
  }
  expect(await accessibilityFindings(dock)).toEqual([]);
  // What the figures are is never guessed.
  await tabTo(dock, "Save and start the dry run");
  await typeKeys(dock, ["Enter"]);
  await dock.getByText("Say what the figures are; it is never guessed.").first().waitFor();
  await tabTo(dock, "Percent registration");
  await typeKeys(dock, ["ArrowDown"]);
  await tabTo(dock, "Save and start the dry run");
  await typeKeys(dock, ["Enter"]);

  // The dry run sets the dozen aside, each with its reason, and changes nothing.
  await dock.getByText("The dry run is done").waitFor({ timeout: 60_000 });
  const problems = await storekeeper.agent.get(`/api${importPath}/problems?limit=200`).expect(200);
  expect(
    problems.body.rows.map(({ rowNumber, code, column }: (typeof list.bad)[number]) => ({
      rowNumber,
      code,
      column,
    })),
  ).toEqual(list.bad);
  expect((await bench.lot(lotId)).counts.members).toBe(0);
  expect(await accessibilityFindings(dock)).toEqual([]);
  await tabTo(dock, "Put 3,000 meters in");
  await typeKeys(dock, ["Enter"]);
  await dock.getByRole("dialog").waitFor();
  await tabTo(dock, "Put 3,000 meters in");
  await typeKeys(dock, ["Enter"]);
  await dock.getByText("3,000 meters went in.").waitFor({ timeout: 60_000 });

  // Back at the shipment its meters stand there; planning it is not the storekeeper's.
  await tabTo(dock, "Back to shipment SH-2026-31");
  await typeKeys(dock, ["Enter"]);
  await dock.waitForURL(`**/shipments/${lotId}`);
  await dock.getByText("No plan yet. A quality engineer or a supervisor fixes it.").waitFor();
  expect(await bench.lot(lotId)).toMatchObject({ counts: { members: lotSize }, makerResults: lotSize });

  // The quality engineer fixes the plan.
  const desk = await deskOf(bench.engineer);
  await openAtStep(desk, lotId, 2);
  await tabTo(desk, "Fix the plan");
  await typeKeys(desk, ["Enter"]);
  await tabTo(desk, "Fix it for good");
  await typeKeys(desk, ["Enter"]);
  await desk
    .getByText(`MIL-STD-105E, AQL 1 %, code letter K: n ${sampleSize}, Ac ${ac}, Re ${re}.`)
    .waitFor();

  // The list of candidates is in the ledger, with its hash, before the dice are thrown.
  await openAtStep(desk, lotId, 3);
  await tabTo(desk, "Dice, thrown before witnesses");
  await typeKeys(desk, ["Space"]);
  await tabTo(desk, "Publish the list");
  await typeKeys(desk, ["Enter"]);
  const listLink = desk.getByRole("link", { name: "The list, one number a line" });
  await listLink.waitFor();
  const [download] = await Promise.all([desk.waitForEvent("download"), listLink.click()]);
  const candidates = await readFile(await download.path());
  const badges = candidates.toString("utf8").trimEnd().split("\n");
  const goodRows = [...list.right].filter(([row]) => !list.bad.some(({ rowNumber }) => rowNumber === row));
  expect(badges).toEqual(goodRows.map(([, { Badge }]) => Badge).sort());
  // FIPS 180-4, computed here from the bytes as they were downloaded.
  const hash = createHash("sha256").update(candidates).digest("hex");
  await desk.getByText(hash).first().waitFor();
  const published = (await bench.lot(lotId)).lists.at(-1);
  expect(published).toMatchObject({ listHash: hash, candidates: lotSize, n: sampleSize, draw: null });

  // Then the dice, and the draw.
  await tabTo(desk, "Seed");
  await typeKeys(desk, "5 2 6 1 3 3 4 6 1 2 5 5 4 2 6 3 1 4 2 6", ["Enter"]);
  await desk.getByRole("region", { name: "Drawn meters in the order drawn" }).waitFor();
  const units = await bench.unitsOf(lotId);
  expect(units).toHaveLength(sampleSize);
  expect(new Set(units.map(({ utilityNumber }) => utilityNumber)).size).toBe(sampleSize);
  expect(units.filter(({ utilityNumber }) => !badges.includes(utilityNumber))).toEqual([]);
  expect(await accessibilityFindings(desk)).toEqual([]);

  // The technician tests the sample, but for one meter that the supervisor tests; the tally runs along.
  const [helped, ...rest] = units;
  if (helped === undefined) throw new Error("the sample is empty");
  for (const [place, unit] of rest.entries()) {
    await bench.test(unit, nonconforming[place] ?? (99.5 + place / 124).toFixed(2), "new-shipment");
  }
  await desk.reload();
  await desk.getByText(`Results that count`).first().waitFor();
  await desk
    .getByText(`${sampleSize - 1} of ${sampleSize}`)
    .first()
    .waitFor();
  await desk.getByText(`1 of ${sampleSize} places have no outcome yet.`).waitFor();
  await bench.test(helped, "100.07", "new-shipment", supervisor);

  // Three nonconforming, at most three: the engineer puts the decision on record and cannot approve it.
  await openAtStep(desk, lotId, 6);
  await tabTo(desk, "Put the decision on record");
  await typeKeys(desk, ["Enter"]);
  await desk.getByText("You may not approve this decision").waitFor();
  expect(await bench.lot(lotId)).toMatchObject({
    state: "decided",
    outcome: "accepted",
    decision: {
      evaluation: { characteristics: [{ counted: sampleSize, nonconforming: 3, outcome: "accepted" }] },
    },
  });
  expect(await accessibilityFindings(desk)).toEqual([]);

  // Nor does the supervisor who tested one meter of the 125, on screen and in the API.
  const floor = await deskOf(supervisor);
  await openAtStep(floor, lotId, 7);
  await floor.getByText("You may not approve this decision").waitFor();
  await floor.getByRole("link", { name: `The test of meter ${helped.utilityNumber}` }).waitFor();
  expect(await floor.getByRole("button", { name: "Approve and sign" }).count()).toBe(0);
  const refused = await approval(supervisor, lotId);
  expect([refused.status, refused.body.type]).toEqual([403, "/problems/not-independent"]);
  expect(await bench.lot(lotId)).toMatchObject({ state: "decided" });

  // Somebody who tested none of it signs with the password; a wrong one signs nothing.
  const office = await deskOf(bench.approver);
  await openAtStep(office, lotId, 7);
  await tabTo(office, "Password of");
  await typeKeys(office, "not the password", ["Enter"]);
  await office.getByRole("alert").first().waitFor();
  expect(await bench.lot(lotId)).toMatchObject({ state: "decided" });
  await tabTo(office, "Password of");
  await typeKeys(office, ["Control+a"], testPassword, ["Enter"]);
  await office.getByText("Approved", { exact: true }).waitFor();
  const { rows: signed } = await shop.admin.query<{ account_id: string }>(
    `SELECT a.account_id FROM approval a JOIN decision d ON d.id = a.decision_id WHERE d.lot_id = $1`,
    [lotId],
  );
  expect(signed).toEqual([{ account_id: bench.approver.id }]);

  // The meters go to stock; the three found nonconforming are held back.
  await openAtStep(office, lotId, 8);
  await tabTo(office, "Release to stock");
  await typeKeys(office, ["Enter"]);
  await office.getByText("Released to stock").first().waitFor();
  const { rows: states } = await shop.admin.query<{ state: string; n: number }>(
    `SELECT m.state, count(*)::int AS n FROM lot_member b JOIN meter m ON m.id = b.meter_id
     WHERE b.lot_id = $1 GROUP BY m.state ORDER BY m.state`,
    [lotId],
  );
  expect(states).toEqual([
    { state: "in-stock", n: lotSize - 3 },
    { state: "received", n: 3 },
  ]);
  expect(await accessibilityFindings(office)).toEqual([]);
  expect(desks.flatMap(({ complaints }) => complaints)).toEqual([]);
}, 400_000);
