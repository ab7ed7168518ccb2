import type { Permission } from "@sealbook/contract/permissions";
import { paths } from "../paths.ts";

export interface Destination {
  label: string;
  to: string;
  permission: Permission;
  /** Shows how many tests wait for one's signature. */
  hasTrayCount?: boolean;
  /** Begins a new group in the rail. */
  isBreak?: boolean;
}

/** Where the rail leads, in the order of a day's work. */
export const destinations: readonly Destination[] = [
  { label: "Log a test", to: paths.log(), permission: "meterTest.record" },
  { label: "Tray to sign", to: paths.tray(), permission: "meterTest.sign", hasTrayCount: true },
  { label: "Work", to: paths.work(), permission: "workItem.read" },
  { label: "Meters", to: paths.meters(), permission: "meter.read", isBreak: true },
  { label: "Moves", to: paths.meterMoves(), permission: "meter.read" },
  { label: "To settle", to: paths.toSettle(), permission: "inventoryFlag.read" },
  { label: "Tests", to: paths.tests(), permission: "meterTest.read" },
  { label: "Imports", to: paths.imports(), permission: "import.read" },
  { label: "Shipments", to: paths.shipments(), permission: "sampling.read", isBreak: true },
  { label: "Groups in service", to: paths.groups(), permission: "sampling.read" },
  { label: "Reports", to: paths.reports(), permission: "report.read" },
  { label: "Standards", to: paths.standards(), permission: "standard.read", isBreak: true },
  { label: "Meter types", to: paths.types(), permission: "meterType.read" },
  { label: "Test plans", to: paths.plans(), permission: "testPlan.read" },
  { label: "Sampling schemes", to: paths.schemes(), permission: "sampling.read" },
  { label: "Rules", to: paths.rules(), permission: "profile.read" },
  { label: "Places", to: paths.places(), permission: "place.read" },
  { label: "Service points", to: paths.servicePoints(), permission: "servicePoint.read" },
  { label: "Ledger", to: paths.ledger(), permission: "ledger.read", isBreak: true },
  { label: "Signed log", to: paths.signedLog(), permission: "log.read" },
  { label: "People", to: paths.people(), permission: "person.read" },
  { label: "Shop", to: paths.shop(), permission: "shop.read" },
];
