import type { Pull } from "@sealbook/contract/groups";

/** The meters of one area, in the order in which the service lists them. */
export interface AreaPulls {
  /** "" where a meter stands at no service point. */
  area: string;
  pulls: Pull[];
}

/** Divides a pull list by area; the list comes sorted by area, so that each begins where the one before ends. */
export function pullsByArea(pulls: readonly Pull[]): AreaPulls[] {
  const areas: AreaPulls[] = [];
  for (const pull of pulls) {
    const area = pull.area ?? "";
    const last = areas.at(-1);
    if (last?.area === area) last.pulls.push(pull);
    else areas.push({ area, pulls: [pull] });
  }
  return areas;
}
