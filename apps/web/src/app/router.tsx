import type { Permission } from "@sealbook/contract/permissions";
import {
  createRootRoute,
  createRoute,
  createRouter,
  lazyRouteComponent,
  Outlet,
  redirect,
} from "@tanstack/react-router";
import { Waiting } from "../ui/waiting.tsx";
import { fetchPage } from "./fetch-page.ts";
import { homeOf } from "./home-of.ts";
import { NotFoundPage } from "./not-found-page.tsx";
import { PageProblem } from "./page-problem.tsx";
import { requirePermission } from "./require-permission.ts";
import { requireSession } from "./require-session.ts";
import { parseSearch, stringifySearch } from "./search-text.ts";
import { Shell } from "./shell.tsx";
import { StartProblem } from "./start-problem.tsx";

const rootRoute = createRootRoute({ component: Outlet });

const signInRoute = createRoute({
  getParentRoute: () => rootRoute,
  path: "/sign-in",
  component: lazyRouteComponent(() => fetchPage(() => import("./sign-in-page.tsx")), "SignInPage"),
});

const shellRoute = createRoute({
  getParentRoute: () => rootRoute,
  id: "shell",
  beforeLoad: async ({ location }) => {
    const session = await requireSession(location.href);
    if (location.pathname === "/") throw redirect({ to: homeOf(session.account.role) });
  },
  component: Shell,
  errorComponent: StartProblem,
});

/** A page under the shell, fetched when it is first opened; one that only some may use says so to the others. */
function page<Module extends Record<string, unknown>>(
  path: string,
  load: () => Promise<Module>,
  name: keyof Module & string,
  permission?: Permission,
) {
  return createRoute({
    getParentRoute: () => shellRoute,
    path,
    beforeLoad: async () => {
      if (permission !== undefined) await requirePermission(permission);
    },
    component: lazyRouteComponent(() => fetchPage(load), name),
  });
}

const pages = [
  page("/account", () => import("../features/people/account-page.tsx"), "AccountPage"),
  page("/shop", () => import("../features/people/shop-page.tsx"), "ShopPage"),
  page("/people", () => import("../features/people/people-page.tsx"), "PeoplePage", "person.read"),
  page("/people/$personId", () => import("../features/people/person-page.tsx"), "PersonPage", "person.read"),
  page(
    "/log",
    () => import("../features/meter-tests/find-meter-to-test-page.tsx"),
    "FindMeterToTestPage",
    "meterTest.record",
  ),
  page(
    "/log/$meterId",
    () => import("../features/meter-tests/record-test-page.tsx"),
    "RecordTestPage",
    "meterTest.record",
  ),
  page(
    "/tests",
    () => import("../features/meter-tests/test-list-page.tsx"),
    "TestListPage",
    "meterTest.read",
  ),
  page("/tests/$testId", () => import("../features/meter-tests/test-page.tsx"), "TestPage", "meterTest.read"),
  page(
    "/tests/$testId/amend",
    () => import("../features/meter-tests/amend-test-page.tsx"),
    "AmendTestPage",
    "meterTest.amend",
  ),
  page("/tray", () => import("../features/meter-tests/tray-page.tsx"), "TrayPage", "meterTest.sign"),
  page("/imports", () => import("../features/imports/import-list-page.tsx"), "ImportListPage", "import.read"),
  page(
    "/imports/$importId",
    () => import("../features/imports/import-page.tsx"),
    "ImportPage",
    "import.read",
  ),
  page(
    "/standards",
    () => import("../features/standards/standard-list-page.tsx"),
    "StandardListPage",
    "standard.read",
  ),
  page(
    "/standards/new",
    () => import("../features/standards/new-standard-page.tsx"),
    "NewStandardPage",
    "standard.manage",
  ),
  page(
    "/standards/$standardId",
    () => import("../features/standards/standard-page.tsx"),
    "StandardPage",
    "standard.read",
  ),
  page(
    "/plan-chooser",
    () => import("../features/sampling/plan-chooser-page.tsx"),
    "PlanChooserPage",
    "sampling.read",
  ),
  page(
    "/schemes",
    () => import("../features/sampling/scheme-list-page.tsx"),
    "SchemeListPage",
    "sampling.read",
  ),
  page("/schemes/new", () => import("../features/sampling/new-scheme-page.tsx"), "NewSchemePage"),
  page(
    "/schemes/$schemeId",
    () => import("../features/sampling/scheme-page.tsx"),
    "SchemePage",
    "sampling.read",
  ),
  page(
    "/schemes/$schemeId/revise",
    () => import("../features/sampling/revise-scheme-page.tsx"),
    "ReviseSchemePage",
  ),
  page("/series", () => import("../features/sampling/series-page.tsx"), "SeriesPage", "sampling.read"),
  page(
    "/corrective-actions",
    () => import("../features/sampling/corrective-actions-page.tsx"),
    "CorrectiveActionsPage",
    "sampling.read",
  ),
  page("/draw-rules", () => import("../features/sampling/draw-rules-page.tsx"), "DrawRulesPage"),
  page(
    "/shipments",
    () => import("../features/shipments/shipment-list-page.tsx"),
    "ShipmentListPage",
    "sampling.read",
  ),
  page(
    "/shipments/new",
    () => import("../features/shipments/new-shipment-page.tsx"),
    "NewShipmentPage",
    "shipment.receive",
  ),
  page(
    "/shipments/$lotId",
    () => import("../features/shipments/shipment-page.tsx"),
    "ShipmentPage",
    "sampling.read",
  ),
  page("/groups", () => import("../features/groups/groups-page.tsx"), "GroupsPage", "sampling.read"),
  page("/groups/$lotId", () => import("../features/groups/group-page.tsx"), "GroupPage", "sampling.read"),
  page(
    "/group-years",
    () => import("../features/groups/group-years-page.tsx"),
    "GroupYearsPage",
    "sampling.read",
  ),
  page(
    "/programmes/new",
    () => import("../features/groups/new-programme-page.tsx"),
    "NewProgrammePage",
    "sampling.run",
  ),
  page(
    "/programmes/$programmeId",
    () => import("../features/groups/programme-page.tsx"),
    "ProgrammePage",
    "sampling.read",
  ),
  page(
    "/programmes/$programmeId/pulls",
    () => import("../features/groups/pull-list-page.tsx"),
    "PullListPage",
    "sampling.read",
  ),
  page("/meters", () => import("../features/meters/meter-list-page.tsx"), "MeterListPage", "meter.read"),
  page("/meters/new", () => import("../features/meters/new-meter-page.tsx"), "NewMeterPage", "meter.create"),
  page("/meters/$meterId", () => import("../features/meters/meter-page.tsx"), "MeterPage", "meter.read"),
  page(
    "/meters/$meterId/edit",
    () => import("../features/meters/edit-meter-page.tsx"),
    "EditMeterPage",
    "meter.change",
  ),
  page(
    "/meters/receive",
    () => import("../features/meters/receive-meters-page.tsx"),
    "ReceiveMetersPage",
    "meter.create",
  ),
  page(
    "/meter-moves",
    () => import("../features/meters/meter-moves-page.tsx"),
    "MeterMovesPage",
    "meter.read",
  ),
  page(
    "/meter-moves/new",
    () => import("../features/meters/move-tray-page.tsx"),
    "MoveTrayPage",
    "meter.move",
  ),
  page(
    "/meter-moves/$moveId",
    () => import("../features/meters/meter-move-page.tsx"),
    "MeterMovePage",
    "meter.read",
  ),
  page(
    "/to-settle",
    () => import("../features/inventory-flags/to-settle-page.tsx"),
    "ToSettlePage",
    "inventoryFlag.read",
  ),
  page("/places", () => import("../features/places/place-list-page.tsx"), "PlaceListPage", "place.read"),
  page("/places/$placeId", () => import("../features/places/place-page.tsx"), "PlacePage", "place.read"),
  page(
    "/work-calendar",
    () => import("../features/work-items/work-calendar-page.tsx"),
    "WorkCalendarPage",
    "workItem.read",
  ),
  page(
    "/work-items",
    () => import("../features/work-items/work-list-page.tsx"),
    "WorkListPage",
    "workItem.read",
  ),
  page(
    "/work-items/new",
    () => import("../features/work-items/new-work-page.tsx"),
    "NewWorkPage",
    "workItem.open",
  ),
  page(
    "/types",
    () => import("../features/meter-types/meter-type-list-page.tsx"),
    "MeterTypeListPage",
    "meterType.read",
  ),
  page(
    "/types/new",
    () => import("../features/meter-types/new-meter-type-page.tsx"),
    "NewMeterTypePage",
    "meterType.manage",
  ),
  page(
    "/types/$typeId",
    () => import("../features/meter-types/meter-type-page.tsx"),
    "MeterTypePage",
    "meterType.read",
  ),
  page(
    "/types/$typeId/edit",
    () => import("../features/meter-types/edit-meter-type-page.tsx"),
    "EditMeterTypePage",
    "meterType.manage",
  ),
  page(
    "/plans",
    () => import("../features/test-plans/test-plan-list-page.tsx"),
    "TestPlanListPage",
    "testPlan.read",
  ),
  page(
    "/plans/new",
    () => import("../features/test-plans/new-test-plan-page.tsx"),
    "NewTestPlanPage",
    "testPlan.manage",
  ),
  page(
    "/plans/$planId",
    () => import("../features/test-plans/test-plan-page.tsx"),
    "TestPlanPage",
    "testPlan.read",
  ),
  page(
    "/plans/$planId/revise",
    () => import("../features/test-plans/revise-test-plan-page.tsx"),
    "ReviseTestPlanPage",
    "testPlan.manage",
  ),
  page(
    "/service-points",
    () => import("../features/service-points/service-point-list-page.tsx"),
    "ServicePointListPage",
    "servicePoint.read",
  ),
  page(
    "/service-points/new",
    () => import("../features/service-points/new-service-point-page.tsx"),
    "NewServicePointPage",
    "servicePoint.manage",
  ),
  page("/reports", () => import("../features/reports/report-list-page.tsx"), "ReportListPage"),
  page(
    "/reports/new",
    () => import("../features/reports/new-report-page.tsx"),
    "NewReportPage",
    "report.prepare",
  ),
  page("/reports/$reportId", () => import("../features/reports/report-page.tsx"), "ReportPage"),
  page(
    "/reports/$reportId/tests",
    () => import("../features/reports/reported-tests-page.tsx"),
    "ReportedTestsPage",
  ),
  page("/rules", () => import("../features/profiles/profile-list-page.tsx"), "ProfileListPage"),
  page(
    "/rules/propose",
    () => import("../features/profiles/propose-profile-page.tsx"),
    "ProposeProfilePage",
    "profile.propose",
  ),
  page(
    "/rules/$beforeId/compare/$afterId",
    () => import("../features/profiles/compare-profiles-page.tsx"),
    "CompareProfilesPage",
  ),
  page("/rules/$profileId", () => import("../features/profiles/profile-page.tsx"), "ProfilePage"),
  page("/ledger", () => import("../features/ledger/ledger-page.tsx"), "LedgerPage", "ledger.read"),
  page(
    "/ledger/$entryId",
    () => import("../features/ledger/ledger-entry-page.tsx"),
    "LedgerEntryPage",
    "ledger.read",
  ),
  page("/looks", () => import("../features/ledger/looks-page.tsx"), "LooksPage", "ledger.read"),
  page("/signed-log", () => import("../features/ledger/signed-log-page.tsx"), "SignedLogPage", "log.read"),
];

const homeRoute = createRoute({ getParentRoute: () => shellRoute, path: "/" });
const unknownRoute = createRoute({ getParentRoute: () => shellRoute, path: "$", component: NotFoundPage });

/** The addresses of the client and their pages; each page's code is fetched when it is first opened. */
export const router = createRouter({
  routeTree: rootRoute.addChildren([
    signInRoute,
    shellRoute.addChildren([homeRoute, unknownRoute, ...pages]),
  ]),
  parseSearch,
  stringifySearch,
  defaultPreload: "intent",
  defaultPendingComponent: Waiting,
  defaultErrorComponent: PageProblem,
  defaultNotFoundComponent: NotFoundPage,
  scrollRestoration: true,
});
