import type { DrawUnit } from "@sealbook/contract/follow-up";
import type { Lot } from "@sealbook/contract/sampling";
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
import { inServiceScheme, type SamplingBench, samplingBench } from "../support/sampling-bench.ts";

// Two types of 60 meters in service. MIL-STD-105E, Table I: 51 to 90 meters at level II are letter E; Table II-A: letter
// E at AQL 4.0 is n 13, Ac 1, Re 2. A fifth of 13, rounded up, is 3 spares.
const sampleSize = 13;
const spares = 3;

let shop: TestApp;
let bench: SamplingBench;
let browser: Browser;
let address: string;
const desks: Desk[] = [];

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  const [sound, fast] = [await bench.aType({ model: "AW-SOUND" }), await bench.aType({ model: "AW-FAST" })];
  const numbers = (letter: string) =>
    Array.from({ length: 60 }, (_, place) => `${letter}${String(place).padStart(4, "0")}`);
  await bench.inService(sound, numbers("G"), { area: "North" });
  await bench.inService(fast, numbers("H"), { area: "South" });
  await bench.aScheme({
    ...inServiceScheme,
    plan: { kind: "attributes", edition: "MIL-STD-105E", level: "II", aqlPercent: "4" },
  });
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  await bench?.close();
  await shop?.close();
});

async function deskOf(person: SignedIn): Promise<Page> {
  const desk = await openDesk(browser, address);
  desks.push(desk);
  await signInByKeyboard(desk.page, person.username);
  return desk.page;
}

/** Logs tests of the places that still wait, all at one full load. */
async function testWaiting(lotId: string, fullLoad: (place: number) => string): Promise<void> {
  for (const unit of await waitingOf(lotId)) await bench.test(unit, fullLoad(unit.place ?? 0));
}

async function waitingOf(lotId: string): Promise<DrawUnit[]> {
  return (await bench.unitsOf(lotId)).filter((unit) => unit.place !== null && unit.state === "waiting");
}

/** Opens a group and goes to the step it waits for, by keyboard. */
async function openAtStep(page: Page, lotId: string, step: number): Promise<void> {
  await page.goto(`/groups/${lotId}`);
  await page.getByRole("link", { name: `Next, step ${step}:` }).waitFor();
  await tabTo(page, `Next, step ${step}:`);
  await typeKeys(page, ["Enter"]);
}

it("runs a year's programme from its groups to a rejected group's action", async () => {
  const page = await deskOf(bench.engineer);

  // The groups as they would be formed, then formed, planned and listed in one job.
  await page.goto("/programmes/new");
  await page.getByRole("heading", { name: "Begin a programme" }).waitFor();
  await page.getByText(`120 meters in service, 2 lots, ${2 * sampleSize} to be tested.`).waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
  await tabTo(page, "Form the groups");
  await typeKeys(page, ["Enter"]);
  // Nothing is done without a source of the seed, and the person is told so at the field.
  await page.getByText("Say where the seed comes from.").first().waitFor();
  await tabTo(page, "Dice, thrown before witnesses");
  await typeKeys(page, ["Space"]);
  await tabTo(page, "Form the groups");
  await typeKeys(page, ["Enter"]);
  await page.getByText("Lists published").first().waitFor();
  const programmeId = new URL(page.url()).pathname.split("/").at(-1) ?? "";

  // The lists are in the ledger before the seed is typed.
  const listed = await bench.lotsOf(programmeId);
  expect(listed.map((lot) => [lot.plan?.n, lot.plan?.spares, lot.lists.at(-1)?.draw])).toEqual([
    [sampleSize, spares, null],
    [sampleSize, spares, null],
  ]);
  await tabTo(page, "Seed");
  await typeKeys(page, "3 6 1 1 5 2 4 6 2 1", ["Enter"]);
  await page.getByRole("link", { name: "Pull list" }).waitFor();

  // The pull list, whole and by area.
  await page.getByRole("link", { name: "Pull list" }).click();
  await page.getByRole("heading", { name: `North, ${sampleSize} meters` }).waitFor();
  await page.getByRole("heading", { name: `South, ${sampleSize} meters` }).waitFor();
  expect(await page.getByRole("rowheader").count()).toBe(2 * sampleSize);
  expect(await accessibilityFindings(page)).toEqual([]);
  const download = page.waitForEvent("download");
  await page.getByRole("link", { name: "As CSV" }).click();
  expect((await download).suggestedFilename()).toMatch(/\.csv$/);

  const lots = await bench.lotsOf(programmeId);
  const lotOf = (model: string): Lot => {
    const lot = lots.find(({ title }) => title.includes(model));
    if (lot === undefined) throw new Error(`there is no lot of ${model}`);
    return lot;
  };
  const sound = lotOf("AW-SOUND");
  const fast = lotOf("AW-FAST");

  // Follow-up by keyboard: two meters cannot be reached, and spares take their places.
  const field = await deskOf(bench.technician);
  await field.goto(`/groups/${sound.id}`);
  const drawn = await bench.unitsOf(sound.id);
  const first = drawn[0]?.utilityNumber ?? "";
  await field.getByRole("checkbox", { name: `1 , meter ${first}` }).focus();
  await typeKeys(field, ["Space"], ["ArrowDown"], ["Space"], ["n"]);
  await field.getByRole("heading", { name: "Could not be reached: 2 meters" }).waitFor();
  await tabTo(field, "Reason");
  await typeKeys(field, "No access");
  await tabTo(field, "Note");
  await typeKeys(field, "Two visits, gate locked");
  await tabTo(field, "Put it on record");
  await typeKeys(field, ["Enter"]);
  const called = [drawn[sampleSize], drawn[sampleSize + 1]].map((unit) => unit?.utilityNumber);
  await field.getByText(`Spares called up: ${called.join(", ")}.`).waitFor();
  expect(await accessibilityFindings(field)).toEqual([]);

  // One meter does not register; the others are within the limits.
  const dead = (await waitingOf(sound.id))[0];
  if (dead === undefined) throw new Error("the sample waits");
  await bench.deadMeter(dead);
  await testWaiting(sound.id, (place) => (99.7 + place / 50).toFixed(2));

  // The engineer decides by the arithmetic: one nonconforming, at most one.
  await openAtStep(page, sound.id, 6);
  await tabTo(page, "Put the decision on record");
  await typeKeys(page, ["Enter"]);
  await page.getByText("You may not approve this decision").waitFor();
  expect(await bench.lot(sound.id)).toMatchObject({ state: "decided", outcome: "accepted" });
  expect(await accessibilityFindings(page)).toEqual([]);

  // Somebody who had no hand in it approves with the password.
  const approver = await deskOf(bench.approver);
  await openAtStep(approver, sound.id, 7);
  await tabTo(approver, "Password of");
  await typeKeys(approver, testPassword, ["Enter"]);
  await approver.getByText("Approved", { exact: true }).waitFor();

  // The other group has two fast meters, which is one too many.
  await testWaiting(fast.id, (place) => (place <= 2 ? "102.4" : "100.1"));
  await openAtStep(page, fast.id, 6);
  await tabTo(page, "Put the decision on record");
  await typeKeys(page, ["Enter"]);
  await page.getByText("You may not approve this decision").waitFor();
  expect(await bench.lot(fast.id)).toMatchObject({ state: "decided", outcome: "not-accepted" });
  await page.getByText("2 nonconforming", { exact: false }).first().waitFor();

  // It gets an action with an owner and a due date.
  await tabTo(page, "Set a corrective action");
  await typeKeys(page, ["Enter"]);
  await page.getByRole("button", { name: "Set the action" }).waitFor();
  await tabTo(page, "Action");
  await typeKeys(page, "Retire by a date");
  await tabTo(page, "Owner");
  await typeKeys(page, "supervisor");
  await tabTo(page, "Due on");
  await typeKeys(page, "2027-06-30");
  await tabTo(page, "What is to be done");
  await typeKeys(page, "Retire the whole group");
  await tabTo(page, "Set the action");
  await typeKeys(page, ["Enter"]);
  await page.getByRole("rowheader", { name: "Retire by a date" }).waitFor();
  expect((await bench.lot(fast.id)).actions).toMatchObject([
    { kind: "retire-by", dueOn: "2027-06-30", doneOn: null, detail: "Retire the whole group" },
  ]);
  await openAtStep(approver, fast.id, 7);
  await tabTo(approver, "Password of");
  await typeKeys(approver, testPassword, ["Enter"]);
  await approver.getByText("Approved", { exact: true }).waitFor();

  // The year stands beside the years to come, and the action waits in its list.
  await page.goto("/group-years");
  await page.getByRole("rowheader").first().waitFor();
  expect(await page.getByRole("rowheader").count()).toBe(2);
  expect(await accessibilityFindings(page)).toEqual([]);
  await page.goto("/corrective-actions");
  await page.getByRole("rowheader", { name: "Retire by a date" }).waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
  expect(desks.flatMap((desk) => desk.complaints)).toEqual([]);
});
