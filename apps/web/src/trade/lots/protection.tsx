import { characteristicCurve } from "@sealbook/metrology/sampling/characteristic/characteristic-curve";
import { protectionOfPlan } from "@sealbook/metrology/sampling/characteristic/protection-of-plan";
import { useMemo } from "react";
import { chartAxis } from "../../ui/charts/chart-axis.ts";
import { CurveChart } from "../../ui/charts/curve-chart.tsx";
import type { PlanLaw } from "./plan-law.ts";
import { protectionSentence } from "./protection-sentence.ts";

/** What a plan protects: its operating characteristic, one sentence about lots and one about the process. */
export function Protection({
  name,
  law,
  percent,
  lotSize,
}: {
  /** The plan in words. */
  name: string;
  law: PlanLaw;
  /** Percent nonconforming that the sentence is about, above 0 and below 100. */
  percent: number;
  lotSize: number;
}) {
  const drawn = useMemo(() => {
    const curve = characteristicCurve(law.ofProcess).map((point) => ({
      x: 100 * point.fraction,
      y: point.probability,
    }));
    return { curve, protection: protectionOfPlan(law.ofProcess) };
  }, [law]);
  const sentence = useMemo(
    () => protectionSentence(percent, lotSize, law.ofLot(percent / 100)),
    [law, percent, lotSize],
  );
  const { curve, protection } = drawn;
  const last = curve.at(-1)?.x ?? 100;
  const x = chartAxis("Percent nonconforming", 0, last, 9);
  const threeDigits = (value: number) => String(Number(value.toPrecision(3)));
  return (
    <div className="stack-tight">
      <p>
        <strong>{sentence}</strong>
      </p>
      <p>{protection.sentence}</p>
      <CurveChart
        label={`Operating characteristic of ${name}`}
        caption="Operating characteristic: the probability that a lot is accepted, by the percent nonconforming of the process it comes from."
        x={x}
        y={chartAxis("Probability of acceptance", 0, 1, 6)}
        curve={curve}
        marked={[
          {
            x: protection.acceptedPercent,
            y: 0.95,
            text: `0.95 at ${threeDigits(protection.acceptedPercent)} %`,
          },
          {
            x: protection.refusedPercent,
            y: 0.1,
            text: `0.10 at ${threeDigits(protection.refusedPercent)} %`,
          },
        ]}
        rows={x.ticks.map((tick) => ({
          x: tick.text,
          y: law.ofProcess(Math.min(1, tick.value / 100)).toFixed(4),
        }))}
      />
    </div>
  );
}
