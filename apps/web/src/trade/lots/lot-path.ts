import type { LotKind } from "@sealbook/contract/lot-terms";
import { paths } from "../../paths.ts";

/** Address of a lot's page: shipments and groups in service each have their own. */
export function lotPath(lot: { id: string; kind: LotKind }): string {
  return lot.kind === "shipment" ? paths.shipment(lot.id) : paths.group(lot.id);
}
