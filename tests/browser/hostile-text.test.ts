import { newId } from "@sealbook/api/platform/transaction";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp, testPassword } from "../support/app.ts";
import { type Desk, openBrowser, openDesk, signInByKeyboard } from "../support/browser.ts";
import { type MeterBench, meterBench } from "../support/meter-bench.ts";

/**
 * Texts that a page runs if it takes what people typed for markup, for an address or for a template. Each sets the mark
 * if it runs. Written from memory of the kinds that the OWASP XSS Filter Evasion Cheat Sheet lists.
 */
const mark = "window.hostileTextRan=1";
const hostileTexts = [
  `<script>${mark}</script>`,
  `</script><script>${mark}</script>`,
  `<ScRiPt>${mark}</sCrIpT>`,
  `<script/x>${mark}</script>`,
  `<<script>${mark}//<</script>`,
  `<img src=x onerror=${mark}>`,
  `<img src=x onerror="${mark}">`,
  `<IMG SRC=x ONERROR='${mark}'>`,
  `"><img src=x onerror=${mark}>`,
  `'><img src=x onerror=${mark}>`,
  `--><img src=x onerror=${mark}>`,
  `</title><img src=x onerror=${mark}>`,
  `</textarea><img src=x onerror=${mark}>`,
  `</style><img src=x onerror=${mark}>`,
  `<svg onload=${mark}>`,
  `<svg/onload=${mark}>`,
  `<svg><script>${mark}</script></svg>`,
  `<svg><animate onbegin=${mark} attributeName=x>`,
  `<body onload=${mark}>`,
  `<iframe src="javascript:parent.${mark}">`,
  `<iframe srcdoc="<script>parent.${mark}</script>">`,
  `<object data="javascript:${mark}">`,
  `<embed src="javascript:${mark}">`,
  `<a href="javascript:${mark}">x</a>`,
  `<math><a xlink:href="javascript:${mark}">x`,
  `<form action="javascript:${mark}"><button>x`,
  `<input autofocus onfocus=${mark}>`,
  `<details open ontoggle=${mark}>`,
  `<video><source onerror=${mark}></video>`,
  `<audio src=x onerror=${mark}>`,
  `<marquee onstart=${mark}>`,
  `<meta http-equiv=refresh content="0;javascript:${mark}">`,
  `<base href="javascript:${mark}//">`,
  `<link rel=stylesheet href="javascript:${mark}">`,
  `<style>@import "javascript:${mark}";</style>`,
  `javascript:${mark}`,
  `" onmouseover="${mark}" x="`,
  `{{constructor.constructor('${mark}')()}}`,
  `\${${mark}}`,
  `&lt;img src=x onerror=${mark}&gt;`,
];

let shop: TestApp;
let browser: Browser;
let bench: MeterBench;
let address: string;
let desk: Desk;
const meters: string[] = [];
const people: string[] = [];
let standardId: string;

beforeAll(async () => {
  shop = await testApp();
  bench = await meterBench(shop);
  address = await shop.app.listen({ host: "127.0.0.1", port: 0 });
  browser = await openBrowser();
  const plan = await bench.aPlan();
  const typeId = await bench.aType(plan);
  const administrator = await shop.signIn("administrator");
  for (const [at, text] of hostileTexts.entries()) {
    const personId = newId();
    people.push(personId);
    await administrator.agent
      .post("/api/people")
      .send({
        id: personId,
        username: `hostile${at}`,
        name: text,
        role: "technician",
        password: testPassword,
      })
      .expect(201);
    const meter = {
      id: newId(),
      utilityNumber: `H${at} ${text}`.slice(0, 40).trim(),
      serial: `${text}${at}`.slice(-40).trim(),
    };
    meters.push(meter.id);
    await bench.engineer.agent
      .post("/api/meters")
      .send({
        ...meter,
        owner: "utility",
        typeId,
        firmware: text.slice(0, 40).trim(),
        program: "",
        purchasedOn: null,
        placeId: bench.placeId,
        registerReading: null,
      })
      .expect(201);
    await bench.engineer.agent
      .post("/api/work-items")
      .send({ id: newId(), meterId: meter.id, reason: "investigation", dueOn: null, note: text })
      .expect(201);
    await bench.engineer.agent
      .post("/api/service-points")
      .send({
        id: newId(),
        number: `H-${at}`,
        address: text,
        area: text.slice(0, 80).trim(),
        jurisdiction: "us-nc",
      })
      .expect(201);
  }
  standardId = await bench.aStandard();
  const { body: standard } = await bench.engineer.agent.get(`/api/standards/${standardId}`).expect(200);
  const { designation, maker, model, serial, rank } = standard;
  for (const text of hostileTexts) {
    const { body } = await bench.engineer.agent.get(`/api/standards/${standardId}`).expect(200);
    await bench.engineer.agent
      .put(`/api/standards/${standardId}`)
      .set("if-match", `"${body.version}"`)
      .send({
        ...{ designation, maker, model, serial, rank },
        place: text.slice(0, 80).trim(),
        withdrawn: false,
        reason: text,
      })
      .expect(200);
  }
  desk = await openDesk(browser, address);
  await signInByKeyboard(desk.page, administrator.username);
}, 120_000);
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

async function look(path: string): Promise<void> {
  await desk.page.goto(path);
  await desk.page.locator("main h1").waitFor();
  await desk.page.waitForLoadState("networkidle");
}

/** Every fifth: the lists show all of them, their own pages what lists leave out. */
const some = (ids: readonly string[]) => ids.filter((_, at) => at % 5 === 0);

/** Whatever looked like a way to run something: the mark, or a complaint of the page's policy. */
async function findings(): Promise<string[]> {
  const ran = await desk.page.evaluate(() => "hostileTextRan" in globalThis);
  return [...(ran ? [`ran on ${desk.page.url()}`] : []), ...desk.complaints.splice(0)];
}

describe("text that people typed", () => {
  it("is shown as it was typed on every screen, and never run", async () => {
    expect(hostileTexts.length).toBe(40);
    const { rows } = await shop.admin.query<{ id: string }>(
      "SELECT id FROM ledger_entry WHERE subject_id = $1 AND action = 'standard.change' ORDER BY id LIMIT 40",
      [standardId],
    );
    const paths = [
      "/people",
      ...some(people).map((id) => `/people/${id}`),
      "/meters",
      ...some(meters).map((id) => `/meters/${id}`),
      "/work-items",
      "/service-points",
      `/standards/${standardId}`,
      "/ledger",
      `/ledger?subjectId=${standardId}`,
      ...rows.slice(0, 8).map(({ id }) => `/ledger/${id}`),
    ];
    const found: string[] = [];
    for (const path of paths) {
      await look(path);
      found.push(...(await findings()));
    }
    expect(found).toEqual([]);
    // It is there, as text: otherwise nothing was shown.
    await look(`/people/${people[0]}`);
    expect(await desk.page.locator("h1").innerText()).toBe(hostileTexts[0]);
    await look(`/meters/${meters[5]}`);
    expect(await desk.page.locator("main").innerText()).toContain(hostileTexts[5]?.slice(0, 30));
  }, 240_000);

  it("is not run from the address of a page either", async () => {
    const found: string[] = [];
    for (const text of [hostileTexts[0], hostileTexts[5], hostileTexts[8], hostileTexts[35]]) {
      for (const path of ["/ledger?subjectId=", "/meters?q=", "/sign-in?from=", "/tests?standardId="]) {
        await desk.page.goto(`${path}${encodeURIComponent(text ?? "")}`);
        await desk.page.waitForLoadState("networkidle");
        found.push(...(await findings()));
      }
    }
    expect(found).toEqual([]);
  }, 120_000);

  it("would be seen if it ran: the same text, put into a page as markup, is stopped by the policy alone", async () => {
    await look("/people");
    await desk.page.evaluate((text) => {
      document.querySelector("main")?.insertAdjacentHTML("beforeend", text);
    }, String(hostileTexts[5]));
    await desk.page.waitForTimeout(500);
    const found = await findings();
    expect(found.join("\n")).toMatch(/Content Security Policy/i);
    expect(found.join("\n")).not.toContain("ran on");
  });
});
