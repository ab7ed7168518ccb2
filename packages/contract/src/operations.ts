import { calculationOperations, listCalculations } from "./calculations.ts";
import { fileOperations } from "./files.ts";
import { groupOperations } from "./groups.ts";
import { importOperations } from "./imports.ts";
import { ledgerOperations } from "./ledger.ts";
import { meterTestOperations } from "./meter-tests.ts";
import { meterTypeOperations } from "./meter-types.ts";
import { meterOperations } from "./meters.ts";
import type { Operation } from "./operation.ts";
import { peopleOperations } from "./people.ts";
import { profileOperations } from "./profiles.ts";
import { samplingOperations } from "./sampling.ts";
import { servicePointOperations } from "./service-points.ts";
import { shipmentOperations } from "./shipments.ts";
import { standardOperations } from "./standards.ts";
import { testPlanOperations } from "./test-plans.ts";
import { workItemOperations } from "./work-items.ts";

/** Every operation of the service, for OpenAPI and for the test that walks operations x roles. */
export const operations: readonly Operation[] = [
  ...peopleOperations,
  ...meterOperations,
  ...meterTypeOperations,
  ...servicePointOperations,
  ...testPlanOperations,
  ...standardOperations,
  ...meterTestOperations,
  ...workItemOperations,
  ...importOperations,
  ...samplingOperations,
  ...shipmentOperations,
  ...groupOperations,
  ...fileOperations,
  ...profileOperations,
  ...ledgerOperations,
  listCalculations,
  ...calculationOperations,
];
