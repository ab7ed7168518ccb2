import type { PointEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";

/** What a verdict leans on: the limits, their source, the decision rule. */
export function JudgedBy({
  judgement,
}: {
  judgement: Pick<PointEvaluation, "limits" | "rule" | "acceptanceLimits" | "falseAcceptProbability">;
}) {
  const { acceptanceLimits, falseAcceptProbability, limits, rule } = judgement;
  return (
    <p className="quiet small">
      {limits === null ? "No limits on this occasion." : `Limits: ${limits.source}.`} Decision rule:{" "}
      {rule.source}.
      {acceptanceLimits === null
        ? ""
        : ` Accepted from ${acceptanceLimits.minPercent} % to ${acceptanceLimits.maxPercent} %.`}
      {falseAcceptProbability === null ? "" : ` Probability of false accept ${falseAcceptProbability}.`}
    </p>
  );
}
