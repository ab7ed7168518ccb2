import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";

export const purposeNames: Record<SamplingScheme["purpose"], string> = {
  shipment: "Shipments",
  "in-service": "Groups in service",
};

export const mergeNames: Record<NonNullable<SamplingScheme["grouping"]>["merge"], string> = {
  never: "Never",
  "same-form": "Those of the same form",
  "same-technology": "Those of the same technology",
};

export const untestableNames: Record<SamplingScheme["untestable"]["counts"], string> = {
  nonconforming: "As nonconforming",
  "left-out": "Left out, with its reason on record",
};

/** The plan of a scheme in a line. */
export function planWords({ plan }: Pick<SamplingScheme, "plan">): string {
  switch (plan.kind) {
    case "attributes":
      return `${plan.edition}, by attributes, level ${plan.level}, AQL ${plan.aqlPercent} %`;
    case "variables":
      return `${plan.edition}, by variables, Form ${plan.form}, level ${plan.level}, AQL ${plan.aqlPercent} %`;
    case "plan-table":
      return `Plan table: ${plan.table.name}`;
  }
}

/** How groups are formed, in a line. */
export function groupingWords(grouping: NonNullable<SamplingScheme["grouping"]>): string {
  const parts = [
    "by type",
    grouping.years === null
      ? null
      : grouping.years === 1
        ? "bought in one year"
        : `bought within ${grouping.years} years`,
    grouping.firmware ? "each firmware apart" : null,
    grouping.area ? "each area apart" : null,
  ];
  return parts.filter((part) => part !== null).join(", ");
}
