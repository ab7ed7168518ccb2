/**
 * Speeds of acceptance sampling, each beside a plain loop over the statistics library that is used elsewhere:
 * estimates of percent nonconforming, points of operating characteristics, and a draw of 500 from a million.
 *
 * Bounded: each measurement stops after two seconds, the whole well within twenty. It fails when the draw costs more
 * than two seconds of processor time (a busy machine must not fail it), or when the two ways of reckoning disagree by more than the library's own error.
 */
import { createRequire } from "node:module";
import { singleAcceptance } from "@sealbook/metrology/sampling/characteristic/single-acceptance";
import { variablesAcceptance } from "@sealbook/metrology/sampling/characteristic/variables-acceptance";
import { variablesAcceptanceTwoLimits } from "@sealbook/metrology/sampling/characteristic/variables-acceptance-two-limits";
import { drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import { percentBeyondLimit } from "@sealbook/metrology/sampling/variables/percent-beyond-limit";

// The library is a dependency of metrology, not of the tests: it is found from there.
const fromMetrology = createRequire(new URL("../../packages/metrology/package.json", import.meta.url));
const betainc = fromMetrology("@stdlib/math-base-special-betainc") as (
  x: number,
  a: number,
  b: number,
) => number;

const sampleSizes = [3, 4, 5, 7, 10, 15, 20, 25, 30, 35, 40, 50, 75, 100, 150, 200];
const failures: string[] = [];

/** Repeats a job until two seconds are over or it has been done often enough; reports how many a second. */
function measure(
  name: string,
  most: number,
  job: (place: number) => number,
): { perSecond: number; sum: number } {
  const start = performance.now();
  let done = 0;
  let sum = 0;
  while (done < most) {
    sum += job(done);
    done += 1;
    if (done % 64 === 0 && performance.now() - start > 2000) break;
  }
  const seconds = (performance.now() - start) / 1000;
  console.log(
    `${name.padEnd(58)} ${Math.round(done / seconds).toLocaleString("en")} a second (${done} in ${seconds.toFixed(2)} s)`,
  );
  return { perSecond: done / seconds, sum: done === most ? sum : Number.NaN };
}

function agree(what: string, ours: number, library: number, tolerance: number): void {
  if (Math.abs(ours - library) > tolerance) failures.push(`${what}: ${ours} against ${library}`);
}

const estimates = 100_000;
const sizeAt = (place: number) => sampleSizes[place % sampleSizes.length] as number;
const indexAt = (place: number) => -0.5 + (4 * (place % 1009)) / 1009;
const ours = measure("estimates of percent nonconforming", estimates, (place) =>
  percentBeyondLimit(indexAt(place), sizeAt(place)),
);
const library = measure("  the same by a loop over the library", estimates, (place) => {
  const n = sizeAt(place);
  const x = Math.min(1, Math.max(0, 0.5 - (indexAt(place) * Math.sqrt(n)) / (2 * (n - 1))));
  return 100 * betainc(x, n / 2 - 1, n / 2 - 1);
});
agree("sum of estimates", ours.sum, library.sum, 1e-5);

const points = 100_000;
const fractionAt = (place: number) => (1 + (place % 200)) / 1000;
const plan = { n: 125, ac: 10 };
const typeB = measure(
  "points of a characteristic, type B (n 125, Ac 10)",
  points,
  (place) => singleAcceptance(plan, fractionAt(place)).probability,
);
const typeBLibrary = measure("  the same by a loop over the library", points, (place) =>
  betainc(1 - fractionAt(place), plan.n - plan.ac, plan.ac + 1),
);
agree("sum of points", typeB.sum, typeBLibrary.sum, 1e-5);
measure(
  "points of a characteristic, type A (lot of 5,000)",
  points,
  (place) => singleAcceptance(plan, fractionAt(place), 5000).probability,
);
measure("points by variables, one limit (n 75, M 2.27 %)", points, (place) =>
  variablesAcceptance({ n: 75, maximumPercent: 2.27 }, fractionAt(place)),
);
measure("points by variables, two limits (n 75, M 2.27 %)", 2000, (place) =>
  variablesAcceptanceTwoLimits(
    { n: 75, maximumPercent: 2.27 },
    { lower: fractionAt(place) / 4, upper: fractionAt(place) / 2 },
  ),
);

// Meter numbers in an order that no sort finds ready: multiples of a number prime to a million and three.
const candidates = Array.from({ length: 1_000_000 }, (_, place) => `M${(place * 7919) % 1_000_003}`);
const start = performance.now();
const before = process.cpuUsage();
const draw = drawSample({ candidates, seed: "3 1 4 1 5 9 2 6 5 3", n: 500, spares: 100 });
const { user, system } = process.cpuUsage(before);
const seconds = (performance.now() - start) / 1000;
const processorSeconds = (user + system) / 1e6;
console.log(
  `a draw of 500 and 100 spares from 1,000,000 candidates took ${seconds.toFixed(2)} s, ${processorSeconds.toFixed(2)} s of processor time`,
);
if (draw.kind !== "drawn" || new Set(draw.sample).size !== 500)
  failures.push("the draw did not give 500 units");
if (processorSeconds >= 2) failures.push(`the draw cost ${processorSeconds.toFixed(2)} s, more than 2 s`);

for (const failure of failures) console.error(failure);
process.exitCode = failures.length === 0 ? 0 : 1;
