import type { LotKind } from "@sealbook/contract/lot-terms";
import type { TestReason } from "@sealbook/contract/work-items";

/** Why the meters of a lot are tested. */
export const reasonOfKind: Record<LotKind, TestReason> = {
  shipment: "new-shipment",
  "in-service": "in-service-sample",
};
