import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";
import { testPassword } from "./app.ts";

const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Debian's browser; another one by CHROMIUM. */
const executable = process.env.CHROMIUM ?? "/usr/bin/chromium";

/** A browser without a window, one for a test file. */
export async function openBrowser(): Promise<Browser> {
  if (!existsSync(executable)) {
    throw new Error(
      `There is no browser at ${executable}: install Debian's package "chromium", or name one by CHROMIUM.`,
    );
  }
  return await chromium.launch({
    executablePath: executable,
    args: [
      "--headless",
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}

/** A page of somebody at a desk; whatever the page reports as an error fails the test that looks at `complaints`. */
export interface Desk {
  readonly context: BrowserContext;
  readonly page: Page;
  readonly complaints: string[];
}

export async function openDesk(
  browser: Browser,
  baseURL: string,
  options: { width?: number; colorScheme?: "light" | "dark" } = {},
): Promise<Desk> {
  const context = await browser.newContext({
    baseURL,
    viewport: { width: options.width ?? 1280, height: 900 },
    colorScheme: options.colorScheme ?? "light",
    acceptDownloads: true,
    // The shop's zone differs on purpose: screens show the shop's time, never the browser's.
    timezoneId: "Asia/Tokyo",
  });
  const page = await context.newPage();
  page.setDefaultTimeout(15_000);
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error" && !message.text().startsWith("Failed to load resource"))
      complaints.push(message.text());
  });
  return { context, page, complaints };
}

/** Signs in as a person does: by keyboard. */
export async function signInByKeyboard(page: Page, username: string, password = testPassword): Promise<void> {
  await page.goto("/sign-in");
  await page.getByLabel("Name", { exact: true }).focus();
  await page.keyboard.type(username);
  await page.keyboard.press("Tab");
  await page.keyboard.type(password);
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "Sign out" }).waitFor();
}

/** What axe finds wrong with the page as it stands: WCAG 2.2 A and AA and best practices; one line a finding. */
export async function accessibilityFindings(page: Page): Promise<string[]> {
  // Evaluated through the browser's own door: the page's policy allows no foreign script, and stays as it is.
  await page.evaluate(axeSource);
  const hasAxe = await page.evaluate(() => "axe" in globalThis);
  if (!hasAxe) throw new Error("axe did not load, so nothing was looked at");
  return await page.evaluate(async () => {
    const { axe } = globalThis as unknown as {
      axe: {
        run(options: object): Promise<{
          violations: { id: string; help: string; nodes: { target: unknown[] }[] }[];
          passes: unknown[];
        }>;
      };
    };
    const result = await axe.run({
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    });
    if (result.passes.length === 0) return ["axe looked at nothing"];
    return result.violations.map(
      ({ id, help, nodes }) => `${id}: ${help} (${nodes.map(({ target }) => target.join(" ")).join("; ")})`,
    );
  });
}
