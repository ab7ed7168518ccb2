import type { DrawUnit } from "@sealbook/contract/follow-up";
import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { evaluateLot } from "@sealbook/metrology/sampling/decision/evaluate-lot";
import type { LotEvaluation } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { notFound, ProblemError } from "../../platform/problem-error.ts";
import { shopCalendar } from "../../platform/shop-calendar.ts";
import type { Source } from "../../platform/transaction.ts";
import { schemeOf } from "./lots.ts";
import { type Sample, sampleOf } from "./sample-of.ts";
import { findWholeLot } from "./whole-lot.ts";

export async function listDrawUnits(source: Source, lotId: string): Promise<{ rows: DrawUnit[] }> {
  if ((await findWholeLot(source, lotId)) === null) throw notFound("lot");
  const found = await sampleOfLot(source, lotId);
  return { rows: found?.sample.units ?? [] };
}

/** What the results of a lot say so far; of a decided one, what it was decided on. */
export async function evaluate(source: Source, lotId: string): Promise<LotEvaluation> {
  const lot = await findWholeLot(source, lotId);
  if (lot === null) throw notFound("lot");
  if (lot.decision !== null) return lot.decision.evaluation;
  const found = await sampleOfLot(source, lotId);
  if (found === null) {
    throw new ProblemError("wrong-state", "This lot has no sample yet: publish its list and draw first.");
  }
  return found.evaluation;
}

/** The sample of a lot with what it says; null before the draw. */
export async function sampleOfLot(
  source: Source,
  lotId: string,
): Promise<{ sample: Sample; evaluation: LotEvaluation; drawId: string; scheme: Scheme } | null> {
  const lot = await findWholeLot(source, lotId);
  const list = lot?.lists.at(-1);
  if (lot === null || lot.plan === null || list === undefined || list.draw === null) return null;
  const scheme = await schemeOf(source, lot.scheme.id);
  const { timeZone, today } = await shopCalendar(source);
  const sample = await sampleOf(
    source,
    { kind: lot.kind, n: lot.plan.n, scheme: scheme.body },
    { id: list.draw.id, drawnAt: list.draw.drawnAt },
    today,
    timeZone,
  );
  return {
    sample,
    evaluation: evaluateLot(scheme.body, lot.plan, sample.places),
    drawId: list.draw.id,
    scheme,
  };
}
