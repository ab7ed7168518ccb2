/** Every address of the client, one builder each, so that no feature spells another's. */
export const paths = {
  home: () => "/",
  signIn: () => "/sign-in",
  account: () => "/account",

  /** Log a test: first find the meter. */
  log: () => "/log",
  logMeter: (meterId: string) => `/log/${meterId}`,

  meters: () => "/meters",
  newMeter: () => "/meters/new",
  meter: (meterId: string) => `/meters/${meterId}`,
  editMeter: (meterId: string) => `/meters/${meterId}/edit`,
  receiveMeters: () => "/meters/receive",
  meterMoves: () => "/meter-moves",
  moveMeters: () => "/meter-moves/new",
  meterMove: (moveId: string) => `/meter-moves/${moveId}`,
  /** Duplicates and figures that do not fit. */
  toSettle: () => "/to-settle",

  places: () => "/places",
  place: (placeId: string) => `/places/${placeId}`,

  tests: () => "/tests",
  test: (testId: string) => `/tests/${testId}`,
  amendTest: (testId: string) => `/tests/${testId}/amend`,
  /** The tray: one's own tests that wait for a signature. */
  tray: () => "/tray",

  work: () => "/work-items",
  newWork: () => "/work-items/new",
  /** A month of due work; the month stands in the search. */
  workCalendar: () => "/work-calendar",

  imports: () => "/imports",
  import: (importId: string) => `/imports/${importId}`,

  /** Try out what a sampling plan asks for and protects. */
  planChooser: () => "/plan-chooser",
  schemes: () => "/schemes",
  newScheme: () => "/schemes/new",
  scheme: (schemeId: string) => `/schemes/${schemeId}`,
  reviseScheme: (schemeId: string) => `/schemes/${schemeId}/revise`,
  /** Switching history of a series; `series` and `scheme` (its code) stand in the search. */
  series: () => "/series",
  correctiveActions: () => "/corrective-actions",
  /** The published rules by which samples are drawn. */
  drawRules: () => "/draw-rules",

  shipments: () => "/shipments",
  newShipment: () => "/shipments/new",
  shipment: (lotId: string) => `/shipments/${lotId}`,

  groups: () => "/groups",
  group: (lotId: string) => `/groups/${lotId}`,
  groupYears: () => "/group-years",
  newProgramme: () => "/programmes/new",
  programme: (programmeId: string) => `/programmes/${programmeId}`,
  pulls: (programmeId: string) => `/programmes/${programmeId}/pulls`,

  standards: () => "/standards",
  newStandard: () => "/standards/new",
  standard: (standardId: string) => `/standards/${standardId}`,

  types: () => "/types",
  newType: () => "/types/new",
  type: (typeId: string) => `/types/${typeId}`,
  editType: (typeId: string) => `/types/${typeId}/edit`,

  plans: () => "/plans",
  newPlan: () => "/plans/new",
  plan: (planId: string) => `/plans/${planId}`,
  revisePlan: (planId: string) => `/plans/${planId}/revise`,

  servicePoints: () => "/service-points",
  newServicePoint: () => "/service-points/new",

  reports: () => "/reports",
  newReport: () => "/reports/new",
  report: (reportId: string) => `/reports/${reportId}`,
  /** The tests behind a number of a report; which number stands in the search. */
  reportTests: (reportId: string) => `/reports/${reportId}/tests`,

  rules: () => "/rules",
  rule: (profileId: string) => `/rules/${profileId}`,
  proposeRules: () => "/rules/propose",
  compareRules: (beforeId: string, afterId: string) => `/rules/${beforeId}/compare/${afterId}`,

  ledger: () => "/ledger",
  ledgerEntry: (entryId: string) => `/ledger/${entryId}`,

  /** What regulators looked at. */
  looks: () => "/looks",
  /** The log's signed head, and proofs of it. */
  signedLog: () => "/signed-log",

  people: () => "/people",
  person: (personId: string) => `/people/${personId}`,
  shop: () => "/shop",
};
