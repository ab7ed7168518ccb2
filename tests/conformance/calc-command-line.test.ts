import { spawn } from "node:child_process";
import { PassThrough, Readable } from "node:stream";
import { text } from "node:stream/consumers";
import { fileURLToPath } from "node:url";
import { longestLineBytes, runCalc } from "@sealbook/api/calc";
import { describe, expect, test } from "vitest";

async function run(words: string[], chunks: (string | Buffer)[] = []) {
  const output = new PassThrough();
  const errors = new PassThrough();
  const written = text(output);
  const complained = text(errors);
  const status = await runCalc(words, { input: Readable.from(chunks), output, errors });
  output.end();
  errors.end();
  const lines = (await written).split("\n").slice(0, -1);
  return { status, lines, errors: await complained };
}

const good = '{"counts":1,"whPerCount":7.2,"standardWh":7.2}';
const answer = '{"registrationPercent":100,"errorPercent":0}';

describe("calc on the command line", () => {
  test("one JSON line out for each line in, in order, and exit 0", async () => {
    expect(await run(["registration"], [`${good}\n${good}\r\n${good}`])).toEqual({
      status: 0,
      lines: [answer, answer, answer],
      errors: "",
    });
  });
  test("a bad line becomes an error in its place, the others are computed, exit 1", async () => {
    const { status, lines } = await run(["registration"], [`${good}\nnonsense\n\n{"counts":0}\n${good}\n`]);
    expect(status).toBe(1);
    expect(lines).toHaveLength(5);
    expect([lines[0], lines[4]]).toEqual([answer, answer]);
    for (const line of lines.slice(1, 4)) expect(JSON.parse(line)).toEqual({ error: expect.any(String) });
  });
  test("lines may be torn anywhere between chunks, even inside a character", async () => {
    const bytes = Buffer.from(`{"components":[{"label":"größe","value":1}],"coverageFactor":2}\n`);
    const whole = await run(["uncertainty"], [bytes]);
    for (let cut = 0; cut <= bytes.length; cut += 1) {
      const torn = await run(["uncertainty"], [bytes.subarray(0, cut), bytes.subarray(cut)]);
      expect(torn).toEqual(whole);
    }
    expect(whole.lines[0]).toContain("größe");
  });
  test("a line without end is refused, not collected, and the next one is computed", async () => {
    const half = " ".repeat(longestLineBytes / 2 + 1);
    const { status, lines } = await run(["registration"], [half, half, half, "\n", good]);
    expect(status).toBe(1);
    expect(lines).toEqual([
      JSON.stringify({ error: `A line has at most ${longestLineBytes} bytes.` }),
      answer,
    ]);
    const unended = await run(["registration"], [half, half]);
    expect(unended).toMatchObject({ status: 1, lines: [expect.stringContaining("at most")] });
    const oneChunk = await run(["registration"], [`${half}${half}\n${good}\n`]);
    expect(oneChunk.lines[1]).toBe(answer);
  });
  test("nothing in, nothing out", async () => {
    expect(await run(["registration"])).toEqual({ status: 0, lines: [], errors: "" });
  });
  test("--help lists names and fields; with a name, only that one's", async () => {
    const all = await run(["--help"]);
    expect(all.status).toBe(0);
    expect(all.lines).toEqual(expect.arrayContaining(["registration", "bill-adjustment"]));
    const one = await run(["average", "--help"]);
    expect(one.lines).toContain("average");
    expect(one.lines).not.toContain("registration");
    expect(one.lines.join("\n")).toContain("lightLoad (number or string, optional)");
  });
  test.each([[[]], [["nonsense"]], [["registration", "average"]], [["registration", "--fast"]]])(
    "%j is a wrong command: exit 2, nothing on standard output",
    async (words) => {
      const found = await run(words, [good]);
      expect(found).toMatchObject({ status: 2, lines: [] });
      expect(found.errors).not.toBe("");
    },
  );

  test("as a process: standard input to standard output, exit status and all", async () => {
    const root = fileURLToPath(new URL("../..", import.meta.url));
    const child = spawn(process.execPath, ["--import", "tsx", "apps/api/src/calc.ts", "registration"], {
      cwd: root,
    });
    child.stdin.end(`${good}\nnonsense\n`);
    const [out, status] = await Promise.all([
      text(child.stdout),
      new Promise((resolve) => child.on("close", resolve)),
    ]);
    expect(out.split("\n")[0]).toBe(answer);
    expect(status).toBe(1);
  }, 20_000);
});
