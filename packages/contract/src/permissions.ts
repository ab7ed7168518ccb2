/** What a person does in the shop; one account has one role. */
export const roles = [
  "technician",
  "quality-engineer",
  "supervisor",
  "storekeeper",
  "regulator",
  "administrator",
] as const;
export type Role = (typeof roles)[number];

export const roleNames: Record<Role, string> = {
  technician: "Technician",
  "quality-engineer": "Quality engineer",
  supervisor: "Supervisor",
  storekeeper: "Storekeeper",
  regulator: "Regulator",
  administrator: "Administrator",
};

const staff: readonly Role[] = [
  "technician",
  "quality-engineer",
  "supervisor",
  "storekeeper",
  "administrator",
];
/** The regulator too, who sees what was released and the log that proves it, and nothing of the daily work. */
const everyone: readonly Role[] = roles;

/**
 * Who may do what: the one table that routes, client and tests read.
 * "anyone" needs no session; "self" needs a session of any role.
 */
export const permissions = {
  "session.open": "anyone",
  "service.health": "anyone",
  "session.self": "self",
  "shop.read": everyone,
  "shop.manage": ["administrator", "supervisor"],
  "ledger.read": staff,
  "log.read": everyone,
  "log.manage": ["administrator"],
  "report.read": everyone,
  "report.prepare": ["quality-engineer", "supervisor"],
  "report.release": ["quality-engineer", "supervisor"],
  "profile.read": everyone,
  "profile.propose": ["quality-engineer", "supervisor"],
  "profile.decide": ["quality-engineer", "supervisor"],
  "calculation.run": everyone,
  "person.read": staff,
  "person.manage": ["administrator"],
  "token.own": staff,
  "meter.read": staff,
  "meter.create": staff,
  "meter.export": staff,
  "meter.change": ["quality-engineer", "supervisor", "storekeeper"],
  "meter.move": staff,
  "meter.hold": ["quality-engineer", "supervisor"],
  "inventoryFlag.read": staff,
  "inventoryFlag.settle": ["quality-engineer", "supervisor", "storekeeper"],
  "place.read": staff,
  "place.manage": ["supervisor", "storekeeper"],
  "meterType.read": staff,
  "meterType.manage": ["quality-engineer", "supervisor"],
  "servicePoint.read": staff,
  "servicePoint.manage": ["quality-engineer", "supervisor", "storekeeper"],
  "testPlan.read": staff,
  "testPlan.manage": ["quality-engineer", "supervisor"],
  "standard.read": staff,
  "standard.manage": ["quality-engineer", "supervisor"],
  "meterTest.read": staff,
  "meterTest.record": ["technician", "quality-engineer", "supervisor"],
  "meterTest.amend": ["technician", "quality-engineer", "supervisor"],
  "meterTest.sign": ["technician", "quality-engineer", "supervisor"],
  "workItem.read": staff,
  "workItem.assign": ["technician", "quality-engineer", "supervisor"],
  "workItem.open": ["technician", "quality-engineer", "supervisor"],
  "sampling.read": staff,
  "sampling.manageSchemes": ["quality-engineer", "supervisor"],
  "sampling.run": ["quality-engineer", "supervisor"],
  "sampling.follow": staff,
  "sampling.decide": ["quality-engineer", "supervisor"],
  "sampling.approve": ["quality-engineer", "supervisor"],
  "shipment.receive": ["quality-engineer", "supervisor", "storekeeper"],
  "shipment.dispose": ["quality-engineer", "supervisor"],
  "import.read": staff,
  "import.run": ["technician", "quality-engineer", "supervisor", "storekeeper"],
  "file.read": staff,
  "file.add": staff,
} as const satisfies Record<string, "anyone" | "self" | readonly Role[]>;

export type Permission = keyof typeof permissions;

/** Whether a role, or somebody without a session (null), holds a permission. */
export function may(role: Role | null, permission: Permission): boolean {
  const holders: "anyone" | "self" | readonly Role[] = permissions[permission];
  if (holders === "anyone") return true;
  if (role === null) return false;
  return holders === "self" || holders.includes(role);
}
