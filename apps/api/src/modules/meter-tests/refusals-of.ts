import type { ProblemError as ErrorDetail } from "@sealbook/contract/problems";
import type { EntryRefusal, PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import type { PassEntry } from "@sealbook/metrology/accuracy/test-terms";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";

/**
 * What cannot be taken of a pass, each with its place in the request.
 *
 * @param pointer  JSON pointer of the pass in the request body
 */
export function refusalsOf(
  evaluation: PassEvaluation,
  entry: PassEntry,
  pointer: string,
  profile: Pick<RuleProfile, "outsideCertifiedRange">,
): ErrorDetail[] {
  const errors: ErrorDetail[] = evaluation.refusals.map((refusal) => ({
    pointer: placeOf(refusal, entry, pointer),
    detail: refusal.reason,
  }));
  const explained = new Set(evaluation.refusals.map(({ pointKey }) => pointKey));
  for (const point of evaluation.points) {
    if (point.state !== "refused" || explained.has(point.pointKey)) continue;
    errors.push({
      pointer: `${pointer}/points/${indexOf(entry, point.pointKey)}`,
      detail: `${point.label}: ${point.correction.reason}`,
      ...(point.correction.kind === "refused" ? { rule: profile.outsideCertifiedRange.source } : {}),
    });
  }
  return errors;
}

/** Pointer of what was refused of a pass, which stands at `pointer` in the request. */
export function placeOf(
  refusal: Pick<EntryRefusal, "pointKey" | "runIndex" | "field" | "demandIndex">,
  entry: PassEntry,
  pointer: string,
): string {
  if (refusal.demandIndex !== undefined) return `${pointer}/demand/${refusal.demandIndex}/${refusal.field}`;
  // Voltage and test amperes are the type's, and the type is the meter's.
  if (refusal.pointKey === null) return "/meterId";
  if (refusal.field === "pointKey") {
    const last = entry.points.findLastIndex(({ pointKey }) => pointKey === refusal.pointKey);
    return `${pointer}/points/${last}/pointKey`;
  }
  const point = `${pointer}/points/${indexOf(entry, refusal.pointKey)}`;
  return refusal.runIndex === null ? point : `${point}/runs/${refusal.runIndex}/${refusal.field}`;
}

function indexOf(entry: PassEntry, pointKey: string): number {
  return entry.points.findIndex((point) => point.pointKey === pointKey);
}
