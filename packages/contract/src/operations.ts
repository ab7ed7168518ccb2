import { calculationOperations, listCalculations } from "./calculations.ts";
import { correctiveActionOperations } from "./corrective-actions.ts";
import { dueOperations } from "./due.ts";
import { fileOperations } from "./files.ts";
import { followUpOperations } from "./follow-up.ts";
import { groupOperations } from "./groups.ts";
import { importOperations } from "./imports.ts";
import { inventoryFlagOperations } from "./inventory-flags.ts";
import { ledgerOperations } from "./ledger.ts";
import { logHeadOperations } from "./log-heads.ts";
import { meterEventOperations } from "./meter-events.ts";
import { meterListOperations } from "./meter-list.ts";
import { meterTestOperations } from "./meter-tests.ts";
import { meterTypeOperations } from "./meter-types.ts";
import { meterOperations } from "./meters.ts";
import type { Operation } from "./operation.ts";
import { peopleOperations } from "./people.ts";
import { placeOperations } from "./places.ts";
import { profileOperations } from "./profiles.ts";
import { reportOperations } from "./reports.ts";
import { samplingOperations } from "./sampling.ts";
import { samplingSchemeOperations } from "./sampling-schemes.ts";
import { samplingSeriesOperations } from "./sampling-series.ts";
import { savedViewOperations } from "./saved-views.ts";
import { searchOperations } from "./search.ts";
import { servicePointOperations } from "./service-points.ts";
import { shipmentOperations } from "./shipments.ts";
import { standardOperations } from "./standards.ts";
import { testPlanOperations } from "./test-plans.ts";
import { workItemOperations } from "./work-items.ts";

/** Every operation of the service, for OpenAPI and for the test that walks operations x roles. */
export const operations: readonly Operation[] = [
  ...peopleOperations,
  ...meterOperations,
  ...meterListOperations,
  ...savedViewOperations,
  ...searchOperations,
  ...meterEventOperations,
  ...inventoryFlagOperations,
  ...placeOperations,
  ...meterTypeOperations,
  ...servicePointOperations,
  ...testPlanOperations,
  ...standardOperations,
  ...meterTestOperations,
  ...workItemOperations,
  ...dueOperations,
  ...importOperations,
  ...samplingOperations,
  ...samplingSchemeOperations,
  ...followUpOperations,
  ...correctiveActionOperations,
  ...samplingSeriesOperations,
  ...shipmentOperations,
  ...groupOperations,
  ...fileOperations,
  ...profileOperations,
  ...reportOperations,
  ...ledgerOperations,
  ...logHeadOperations,
  listCalculations,
  ...calculationOperations,
];
