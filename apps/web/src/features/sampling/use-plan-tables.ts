import { getProfile, listProfiles } from "@sealbook/contract/profiles";
import { ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import type { PlanTable } from "@sealbook/metrology/sampling/attributes/plan-table";
import { planTables } from "@sealbook/metrology/sampling/attributes/plan-tables";
import { useQuery, useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions, wholeListOptions } from "../../api/operation-options.ts";

/** Rule profiles in force as choices, and the one that is chosen already, whatever became of it. */
export function useProfileChoices(chosen: string): { value: string; label: string }[] {
  const { rows } = useSuspenseQuery(wholeListOptions(listProfiles, { query: {} })).data;
  const titles = new Map(
    rows.filter(({ standing }) => standing === "in-force").map((row) => [row.key, row.title]),
  );
  const choices = [...titles].map(([key, title]) => ({ value: key, label: `${key}: ${title}` }));
  return chosen === "" || titles.has(chosen) ? choices : [...choices, { value: chosen, label: chosen }];
}

/** Tables of plans that come with the product, and the one that a rule profile carries itself. */
export function usePlanTables(profileKey: string): PlanTable[] {
  const { rows } = useSuspenseQuery(wholeListOptions(listProfiles, { query: {} })).data;
  const row = rows.find(({ key, standing }) => key === profileKey && standing === "in-force");
  const profile = useQuery({
    ...operationOptions(getProfile, { params: { id: row?.id ?? "" } }),
    enabled: row !== undefined,
  });
  const own = profile.data === undefined ? null : tableOf(profile.data.body);
  return [...Object.values(planTables), ...(own === null ? [] : [own])];
}

/** The table of plans that stands in a profile itself; null where it names one, has none, or has a form not known here. */
export function tableOf(body: string): PlanTable | null {
  try {
    const sampling = ruleProfileSchema.safeParse(JSON.parse(body)).data?.sampling ?? null;
    return sampling?.kind === "plan-table" && typeof sampling.table !== "string" ? sampling.table : null;
  } catch {
    return null;
  }
}
