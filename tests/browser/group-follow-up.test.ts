import { newId } from "@sealbook/api/platform/transaction";
import type { Lot } from "@sealbook/contract/sampling";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
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
import { tabTo, typeKeys } from "../support/keyboard.ts";
import {
  approval,
  decision,
  inServiceScheme,
  type SamplingBench,
  samplingBench,
} from "../support/sampling-bench.ts";

let shop: TestApp;
let bench: SamplingBench;
let browser: Browser;
let address: string;
let scheme: Scheme;
let engineer: Page;
let technician: Page;
const desks: Desk[] = [];

/** A national plan of a test: four with none nonconforming; tried again, six with one. */
const table = {
  version: 1 as const,
  name: "A table of a test",
  source: "Invented for a test",
  rows: [{ lotMin: 1, lotMax: null, normal: { n: 4, ac: 0 }, tightened: { n: 6, ac: 1 } }],
  largerLotPlanAllowed: false,
  secondTry: { withinMonths: 3, condition: "A refused group may be tried again within three months." },
  remarks: [],
};

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  scheme = await bench.aScheme({
    ...inServiceScheme,
    plan: { kind: "plan-table", table },
    replacement: { allowed: true, sparesPercent: 50, reasons: ["no-access"] },
  });
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  engineer = await deskOf(bench.engineer);
  technician = await deskOf(bench.technician);
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

let letters = 0;
async function someMeters(count: number): Promise<void> {
  letters += 1;
  const numbers = Array.from({ length: count }, (_, place) => `F${letters}-${place}`);
  await bench.inService(await bench.aType(), numbers);
}

/** The lot of a new group with so many meters, drawn. */
async function aDrawnGroup(count: number, year: number): Promise<Lot> {
  await someMeters(count);
  const programme = await bench.aProgramme(scheme, { year });
  const lot = (await bench.lotsOf(programme.id)).find(({ counts }) => counts.members === count);
  if (lot === undefined) throw new Error("the group has its lot");
  const { body } = await bench.engineer.agent
    .post(`/api/draw-lists/${lot.lists[0]?.id}/draw`)
    .send({ id: newId(), seed: "4 1 6 2 5 5" })
    .expect(201);
  return body;
}

async function test(lotId: string, fast: number): Promise<void> {
  const waiting = (await bench.unitsOf(lotId)).filter(
    (unit) => unit.place !== null && unit.state === "waiting",
  );
  for (const [place, unit] of waiting.entries()) await bench.test(unit, place < fast ? "109" : "100");
}

/** A group that was not accepted, approved. */
async function aRefusedGroup(count: number, year: number): Promise<Lot> {
  const lot = await aDrawnGroup(count, year);
  await test(lot.id, 1);
  await decision(bench.engineer, lot.id).expect(201);
  await approval(bench.approver, lot.id).expect(201);
  return await bench.lot(lot.id);
}

describe("a group's page", { timeout: 180_000 }, () => {
  it("takes a follow-up back that was recorded in error, and its spare goes back", async () => {
    const lot = await aDrawnGroup(11, 2026);
    const [unit] = await bench.unitsOf(lot.id);
    const id = newId();
    await bench.technician.agent
      .post(`/api/lots/${lot.id}/events`)
      .set("idempotency-key", newId())
      .send({ events: [{ id, position: 1, kind: "not-reached", reason: "no-access", note: "Gate locked" }] })
      .expect(200);
    await technician.goto(`/groups/${lot.id}`);
    const button = technician.getByRole("button", {
      name: `Take back : Could not be reached, meter ${unit?.utilityNumber}`,
    });
    await button.focus();
    await typeKeys(technician, ["Enter"]);
    await technician.getByRole("heading", { name: /^Take back: Could not be reached/ }).waitFor();
    expect(await accessibilityFindings(technician)).toEqual([]);
    await tabTo(technician, "Reason");
    await typeKeys(technician, "It was the meter next door");
    await tabTo(technician, "Take it back");
    await typeKeys(technician, ["Enter"]);
    await technician.getByText("Taken back: It was the meter next door").first().waitFor();
    const [first, ...rest] = await bench.unitsOf(lot.id);
    expect(first).toMatchObject({ state: "waiting", place: 1 });
    expect(rest.filter(({ spare, place }) => spare && place !== null)).toEqual([]);
  });

  it("tries a refused group a second time, and shows both tries beside each other", async () => {
    const first = await aRefusedGroup(12, 2027);
    await technician.goto(`/groups/${first.id}`);
    await technician.getByText(`may ask for it until ${first.secondTry?.until}`).waitFor();
    expect(await technician.getByRole("button", { name: "Try the group a second time" }).count()).toBe(0);

    await engineer.goto(`/groups/${first.id}`);
    await engineer.getByText("A refused group may be tried again within three months.").waitFor();
    await tabTo(engineer, "Try the group a second time");
    await typeKeys(engineer, ["Enter"]);
    await tabTo(engineer, "Open the second try");
    await typeKeys(engineer, ["Enter"]);
    // Without a reason nothing is opened, and the person is told so at the field.
    await engineer.getByRole("alert").first().waitFor();
    // The summary leads to the field.
    await tabTo(engineer, "Reason");
    await typeKeys(engineer, ["Enter"], "The fast meters were exchanged");
    await tabTo(engineer, "Open the second try");
    await typeKeys(engineer, ["Enter"]);
    await engineer.getByRole("heading", { name: `Group in service ${first.number}-2` }).waitFor();
    await engineer.getByRole("heading", { name: "First and second try" }).waitFor();
    expect(await accessibilityFindings(engineer)).toEqual([]);
    const secondId = new URL(engineer.url()).pathname.split("/").at(-1) ?? "";

    // Its own list, and a seed of its own: the first one proves nothing here.
    await tabTo(engineer, "Dice, thrown before witnesses");
    await typeKeys(engineer, ["Space"]);
    await tabTo(engineer, "Publish the list");
    await typeKeys(engineer, ["Enter"]);
    await engineer.getByRole("button", { name: "Draw 6" }).waitFor();
    await tabTo(engineer, "Seed");
    await typeKeys(engineer, "4 1 6 2 5 5", ["Enter"]);
    await engineer.getByText("was on record before the list was published").first().waitFor();
    await engineer.getByLabel("Seed", { exact: true }).fill("6 2 2 5 1 4");
    await tabTo(engineer, "Draw 6");
    await typeKeys(engineer, ["Enter"]);
    await engineer.getByText("Drawn, being tested").first().waitFor();
    await test(secondId, 1);
    await engineer.reload();
    await engineer.getByRole("link", { name: "Next, step 6:" }).waitFor();
    await tabTo(engineer, "Put the decision on record");
    await typeKeys(engineer, ["Enter"]);
    await engineer.getByText("You may not approve this decision").waitFor();

    const approver = await deskOf(bench.approver);
    await approver.goto(`/groups/${secondId}`);
    await approver.getByRole("link", { name: "Next, step 7:" }).waitFor();
    await tabTo(approver, "Password of");
    await typeKeys(approver, testPassword, ["Enter"]);
    await approver.getByText("Kept in service").first().waitFor();
    const tries = approver.getByRole("table", { name: "First and second try of the group" });
    expect(await tries.getByRole("row").allInnerTexts()).toMatchObject([
      expect.stringContaining("Nonconforming"),
      expect.stringMatching(/First try.*1 of 4, at most 0.*Not accepted/s),
      expect.stringMatching(/Second try.*1 of 6, at most 1.*Accepted/s),
    ]);
    await approver.goto(`/groups/${first.id}`);
    await approver.getByText("Decided by a second try").first().waitFor();
    expect(await accessibilityFindings(approver)).toEqual([]);
    expect(await bench.lot(first.id)).toMatchObject({ state: "closed", disposition: "tried-again" });
  });

  it("closes a group that was not accepted once its actions are done", async () => {
    const lot = await aRefusedGroup(13, 2028);
    const action = { id: newId(), kind: "accelerate", detail: "Test the rest", ownerId: bench.approver.id };
    const { body } = await bench.engineer.agent
      .post(`/api/lots/${lot.id}/actions`)
      .send({ ...action, dueOn: "2028-12-31" })
      .expect(201);
    await engineer.goto(`/groups/${lot.id}`);
    await engineer.getByText("The group closes once all its corrective actions are done.").waitFor();
    await bench.engineer.agent
      .put(`/api/corrective-actions/${action.id}`)
      .set("if-match", `"${body.version}"`)
      .send({
        ownerId: bench.approver.id,
        dueOn: "2028-12-31",
        doneOn: "2028-11-02",
        doneNote: "All tested",
        reason: "The rest was tested",
      })
      .expect(200);
    await engineer.reload();
    await engineer.getByRole("button", { name: "Close the group" }).waitFor();
    await engineer.getByLabel("Reason").last().focus();
    await typeKeys(engineer, "The rest is within the limits");
    await tabTo(engineer, "Close the group");
    await typeKeys(engineer, ["Enter"]);
    await engineer.getByText("Corrective actions done").first().waitFor();
    expect(await bench.lot(lot.id)).toMatchObject({ state: "closed", disposition: "corrected" });
  });

  it("is formed by a programme that goes on where its job was stopped", async () => {
    const programme = await bench.aProgramme(scheme, { year: 2029 });
    await someMeters(14);
    // The job has ended long ago: its stop is put on record as the owning role alone can.
    await shop.admin.query("UPDATE programme SET state = 'cancelled' WHERE id = $1", [programme.id]);
    await engineer.goto(`/programmes/${programme.id}`);
    await engineer.getByText("The job was stopped").waitFor();
    expect(await accessibilityFindings(engineer)).toEqual([]);
    await tabTo(engineer, "Go on with the job");
    await typeKeys(engineer, ["Enter"]);
    await engineer.getByText("Lists published").first().waitFor();
    const lots = await bench.lotsOf(programme.id);
    expect(lots).toHaveLength(programme.counts.lots + 1);
    expect(lots.some(({ counts }) => counts.members === 14)).toBe(true);
  });

  it("complains of nothing on the way", () => {
    expect(desks.flatMap((desk) => desk.complaints)).toEqual([]);
  });
});
