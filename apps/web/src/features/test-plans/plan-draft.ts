import { occasions, type TestPlan, type TestPlanBody } from "@sealbook/contract/test-plans";
import type { PlanPoint } from "./point-words.ts";

type Occasion = (typeof occasions)[number];

/** Limits as typed; all three empty is no limit. */
interface LimitsDraft {
  minPercent: string;
  maxPercent: string;
  source: string;
}

/** A point as its form holds it. The row key lets React follow a point whose name is being typed. */
export interface PointDraft extends Omit<PlanPoint, "runs" | "limits"> {
  rowKey: string;
  runs: string;
  limits: Record<Occasion, LimitsDraft>;
}

export interface PlanDraft extends Omit<TestPlanBody, "format" | "points" | "preconditions"> {
  code: string;
  name: string;
  points: PointDraft[];
  /** One a line. */
  preconditions: string;
}

const noLimits: LimitsDraft = { minPercent: "", maxPercent: "", source: "" };

const noLimitsAtAll: Record<Occasion, LimitsDraft> = {
  new: noLimits,
  "in-service": noLimits,
  "as-left": noLimits,
  request: noLimits,
};

/** A point to begin with: full load at test amperes. */
export function newPoint(rowKey: string): PointDraft {
  return {
    rowKey,
    key: "",
    label: "",
    loadPercent: "100",
    powerFactor: "1",
    powerFactorSense: "unity",
    quantity: "Wh",
    direction: "delivered",
    circuits: "series",
    counts: "",
    countConstant: "Kh",
    runs: "1",
    role: "none",
    limits: noLimitsAtAll,
  };
}

export function newDraft(rowKey: string): PlanDraft {
  return {
    code: "",
    name: "",
    points: [{ ...newPoint(rowKey), key: "FL", label: "Full load", role: "full-load" }],
    creep: "not-asked",
    startingLoad: "not-asked",
    demand: null,
    conditions: [],
    preconditions: "",
    standardRank: "any",
    appliesVoltage: true,
  };
}

export function draftOf(plan: TestPlan): PlanDraft {
  const { points, preconditions, creep, startingLoad, demand, conditions, standardRank, appliesVoltage } =
    plan.body;
  return {
    code: plan.code,
    name: plan.name,
    creep,
    startingLoad,
    demand,
    conditions,
    standardRank,
    appliesVoltage,
    preconditions: preconditions.join("\n"),
    points: points.map((point) => ({
      ...point,
      rowKey: point.key,
      runs: String(point.runs),
      limits: { ...noLimitsAtAll, ...point.limits },
    })),
  };
}

/** The body that the draft describes; numbers that are none become NaN, which the contract's check names. */
export function bodyOf(draft: PlanDraft): TestPlanBody {
  return {
    format: 1,
    creep: draft.creep,
    startingLoad: draft.startingLoad,
    demand: draft.demand,
    conditions: draft.conditions,
    standardRank: draft.standardRank,
    appliesVoltage: draft.appliesVoltage,
    preconditions: draft.preconditions
      .split("\n")
      .map((line) => line.trim())
      .filter((line) => line !== ""),
    points: draft.points.map(({ rowKey: _rowKey, runs, limits, ...point }) => ({
      ...point,
      key: point.key.trim(),
      label: point.label.trim(),
      runs: runs === "" ? Number.NaN : Number(runs),
      limits: Object.fromEntries(
        occasions.flatMap((occasion) => {
          const own = limits[occasion];
          const isEmpty = own.minPercent === "" && own.maxPercent === "" && own.source.trim() === "";
          return isEmpty ? [] : [[occasion, { ...own, source: own.source.trim() }]];
        }),
      ),
    })),
  };
}
