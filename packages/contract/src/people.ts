import { z } from "zod";
import {
  dateSchema,
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  pageOf,
  pageQuery,
  reasonSchema,
} from "./common.ts";
import { operation } from "./operation.ts";
import { roles } from "./permissions.ts";
import { tokenScopes } from "./token-scopes.ts";

export const usernameSchema = z
  .string()
  .regex(/^[a-z][a-z0-9._-]{1,39}$/, "2 to 40 lower-case letters, digits, dots, dashes; a letter first");

/** Long enough for a phrase, never cut short: the limit only bounds the work of hashing. */
export const passwordSchema = z.string().min(10, "at least 10 characters").max(200);

export const pinSchema = z.string().regex(/^\d{4,8}$/, "4 to 8 digits");

export const accountSchema = z.object({
  id: idSchema,
  username: z.string(),
  name: z.string(),
  role: z.enum(roles),
  active: z.boolean(),
  hasPin: z.boolean().describe("Whether a signing PIN has been set"),
  mustChangePassword: z
    .boolean()
    .describe("The password was given by somebody else and is changed at its first use"),
  places: z
    .array(z.object({ id: idSchema, kind: z.string(), name: z.string() }))
    .describe("Places that the account is limited to; none is no limit"),
  createdAt: instantSchema,
  version: z.int(),
});
export type Account = z.infer<typeof accountSchema>;

export const sessionSchema = z.object({
  account: accountSchema,
  expiresAt: instantSchema,
});
export type Session = z.infer<typeof sessionSchema>;

export const openSession = operation({
  id: "people.openSession",
  summary: "Sign in with name and password",
  method: "POST",
  path: "/session",
  permission: "session.open",
  body: z.strictObject({ username: z.string().max(80), password: z.string().max(200) }),
  reply: sessionSchema,
  problems: ["sign-in-refused", "too-many-requests"],
});

export const getSession = operation({
  id: "people.getSession",
  summary: "Who is signed in",
  method: "GET",
  path: "/session",
  permission: "session.self",
  reply: sessionSchema,
});

export const closeSession = operation({
  id: "people.closeSession",
  summary: "Sign out",
  method: "DELETE",
  path: "/session",
  permission: "session.self",
});

export const setPin = operation({
  id: "people.setPin",
  summary: "Set the signing PIN of the signed-in account",
  method: "PUT",
  path: "/session/pin",
  permission: "session.self",
  body: z.strictObject({ password: z.string().max(200), pin: pinSchema }),
  problems: ["sign-in-refused"],
});

export const changePassword = operation({
  id: "people.changePassword",
  summary: "Change the password of the signed-in account; its other sessions end",
  method: "PUT",
  path: "/session/password",
  permission: "session.self",
  body: z.strictObject({ currentPassword: z.string().max(200), newPassword: passwordSchema }),
  problems: ["sign-in-refused", "refused-by-rule"],
});

/** An open session as its owner and an administrator see it; what opens it is nowhere. */
export const openSessionSchema = z.object({
  id: z.uuid(),
  createdAt: instantSchema,
  lastSeenAt: instantSchema,
  expiresAt: instantSchema,
  browser: z.string().describe("What the browser calls itself"),
  isThis: z.boolean().describe("Whether the question came through it"),
});
export type OpenSessionView = z.infer<typeof openSessionSchema>;

/** Nobody has more sessions than a page shows: the oldest end when there are more. */
const sessionsSchema = z.object({ rows: z.array(openSessionSchema).max(50) });

export const listOwnSessions = operation({
  id: "people.listOwnSessions",
  summary: "One's own open sessions, the newest first",
  method: "GET",
  path: "/sessions",
  permission: "session.self",
  reply: sessionsSchema,
});

export const endOwnSession = operation({
  id: "people.endOwnSession",
  summary: "End one of one's own sessions",
  method: "DELETE",
  path: "/sessions/:id",
  permission: "session.self",
  params: z.object({ id: z.uuid() }),
  problems: ["not-found"],
});

export const apiTokenSchema = z.object({
  id: idSchema,
  name: z.string(),
  scopes: z.array(z.enum(tokenScopes)),
  createdAt: instantSchema,
  expiresAt: instantSchema,
  revokedAt: instantSchema.nullable(),
  lastUsedAt: instantSchema.nullable().describe("To the minute; null if it never was"),
});
export type ApiToken = z.infer<typeof apiTokenSchema>;

export const listOwnTokens = operation({
  id: "people.listOwnTokens",
  summary: "One's own API tokens, the newest first",
  method: "GET",
  path: "/tokens",
  permission: "token.own",
  query: z.object({ ...pageQuery }),
  reply: pageOf(apiTokenSchema),
});

export const longestTokenDays = 365;

export const createToken = operation({
  id: "people.createToken",
  summary: "Make an API token for a bench or a script; its secret is in this reply and nowhere else",
  method: "POST",
  path: "/tokens",
  permission: "token.own",
  body: z.strictObject({
    id: idSchema,
    name: lineSchema(80).describe("What it is for, such as the bench's name"),
    scopes: z.array(z.enum(tokenScopes)).min(1, "choose at least one").max(tokenScopes.length),
    days: z.int().min(1).max(longestTokenDays).describe("Days until it ends, at most 365"),
    ownPassword: z.string().max(200).describe("One's own password, again"),
  }),
  reply: z.object({ token: apiTokenSchema, secret: z.string() }),
  status: 201,
  problems: ["sign-in-refused", "too-many-requests", "already-exists", "refused-by-rule"],
});

export const revokeOwnToken = operation({
  id: "people.revokeOwnToken",
  summary: "End one of one's own API tokens",
  method: "POST",
  path: "/tokens/:id/revoke",
  permission: "token.own",
  params: idParams,
  reply: apiTokenSchema,
  problems: ["not-found", "wrong-state"],
});

export const getPerson = operation({
  id: "people.get",
  summary: "One person of the shop",
  method: "GET",
  path: "/people/:id",
  permission: "person.read",
  params: idParams,
  reply: accountSchema,
  problems: ["not-found"],
});

export const listSessionsOfPerson = operation({
  id: "people.listSessions",
  summary: "A person's open sessions, the newest first",
  method: "GET",
  path: "/people/:id/sessions",
  permission: "person.manage",
  params: idParams,
  reply: sessionsSchema,
  problems: ["not-found"],
});

export const endSessionsOfPerson = operation({
  id: "people.endSessions",
  summary: "End one of a person's sessions, or all of them",
  method: "POST",
  path: "/people/:id/sessions/end",
  permission: "person.manage",
  params: idParams,
  body: z.strictObject({
    sessionId: z.uuid().nullable().describe("null: all of them"),
    reason: reasonSchema,
  }),
  problems: ["not-found"],
});

export const listTokensOfPerson = operation({
  id: "people.listTokens",
  summary: "A person's API tokens, the newest first",
  method: "GET",
  path: "/people/:id/tokens",
  permission: "person.manage",
  params: idParams,
  query: z.object({ ...pageQuery }),
  reply: pageOf(apiTokenSchema),
  problems: ["not-found"],
});

export const revokeTokenOfPerson = operation({
  id: "people.revokeToken",
  summary: "End one of a person's API tokens",
  method: "POST",
  path: "/people/:id/tokens/:tokenId/revoke",
  permission: "person.manage",
  params: z.object({ id: idSchema, tokenId: idSchema }),
  body: z.strictObject({ reason: reasonSchema }),
  reply: apiTokenSchema,
  problems: ["not-found", "wrong-state"],
});

export const listPeople = operation({
  id: "people.list",
  summary: "People of the shop",
  method: "GET",
  path: "/people",
  permission: "person.read",
  query: z.object({ ...pageQuery, role: z.enum(roles).optional() }),
  reply: pageOf(accountSchema),
});

export const createPerson = operation({
  id: "people.create",
  summary: "Open an account; its first password is changed at its first use",
  method: "POST",
  path: "/people",
  permission: "person.manage",
  body: z.strictObject({
    id: idSchema,
    username: usernameSchema,
    name: lineSchema(120),
    role: z.enum(roles),
    password: passwordSchema,
  }),
  reply: accountSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const changePerson = operation({
  id: "people.change",
  summary: "Change an account's name, role or whether it is active",
  method: "PUT",
  path: "/people/:id",
  permission: "person.manage",
  params: idParams,
  body: z.strictObject({
    name: lineSchema(120),
    role: z.enum(roles),
    active: z.boolean(),
    placeIds: z
      .array(idSchema)
      .max(20)
      .optional()
      .describe("Places to limit the account to; an empty list lifts the limit, absent leaves it"),
    reason: reasonSchema,
  }),
  reply: accountSchema,
  versioned: true,
  problems: ["not-found", "stale", "refused-by-rule"],
});

export const resetPassword = operation({
  id: "people.resetPassword",
  summary: "Give an account a one-time password, shown in this reply and nowhere else; its sessions end",
  method: "PUT",
  path: "/people/:id/password",
  permission: "person.manage",
  params: idParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: z.object({
    password: z.string().describe("Opens nothing but its own change"),
    until: instantSchema.describe("After this it opens nothing at all"),
  }),
  problems: ["not-found", "wrong-state"],
});

/** A calibrator named by certificates: a person without an account, whose name can be forgotten, too. */
export const forgetCalibrator = operation({
  id: "people.forgetCalibrator",
  summary: "Erase a calibrator's name from every calibration that names it; the ledger still verifies",
  method: "POST",
  path: "/people/forget-calibrator",
  permission: "person.manage",
  body: z.strictObject({ name: lineSchema(120), reason: reasonSchema }),
  reply: z.object({ calibrations: z.int().describe("Calibrations whose calibrator was forgotten") }),
  problems: ["not-found"],
});

export const forgetPerson = operation({
  id: "people.forget",
  summary: "Erase an inactive person's name for good; the ledger still verifies",
  method: "POST",
  path: "/people/:id/forget",
  permission: "person.manage",
  params: idParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: accountSchema,
  problems: ["not-found", "wrong-state"],
});

export const shopSchema = z.object({
  name: z.string(),
  timeZone: z.string().describe("IANA time zone of the shop; dates in reports are local to it"),
  homeJurisdiction: z.string().describe("Key of the rule profile where a meter has no service point"),
  demo: z.boolean().describe("Whether the demo shop is loaded"),
  today: dateSchema,
  version: z.int(),
});
export type Shop = z.infer<typeof shopSchema>;

export const getShop = operation({
  id: "people.getShop",
  summary: "The shop's name, time zone and home jurisdiction",
  method: "GET",
  path: "/shop",
  permission: "shop.read",
  reply: shopSchema,
});

/** What the utility may choose where a profile leaves it the choice. */
export const averagingSchema = z.object({
  jurisdiction: z.string(),
  title: z.string(),
  choices: z.array(z.object({ key: z.string(), label: z.string(), source: z.string() })),
  chosen: z.string().nullable().describe("null: the first that fits a meter's phases"),
});

export const getAveraging = operation({
  id: "people.getAveraging",
  summary: "How average registration is made, by jurisdiction, where the rule profile leaves a choice",
  method: "GET",
  path: "/shop/averaging",
  permission: "shop.read",
  reply: z.object({ rows: z.array(averagingSchema) }),
});

export const changeShop = operation({
  id: "people.changeShop",
  summary: "Change the shop's name, time zone, home jurisdiction or averaging methods, with a reason",
  method: "PUT",
  path: "/shop",
  permission: "shop.manage",
  body: z.strictObject({
    name: lineSchema(120),
    timeZone: lineSchema(60),
    homeJurisdiction: lineSchema(40),
    averageMethods: z
      .record(z.string().max(40), z.string().max(40))
      .describe("Jurisdiction -> key of the profile's average"),
    reason: reasonSchema,
  }),
  reply: shopSchema,
  versioned: true,
  problems: ["stale", "refused-by-rule"],
});

export const demoSignInSchema = z.object({
  username: z.string(),
  name: z.string(),
  role: z.enum(roles),
  password: z.string(),
  pin: z.string(),
});

export const getWelcome = operation({
  id: "people.getWelcome",
  summary: "What the sign-in page shows: the shop's name and, in the demo alone, its sign-ins",
  method: "GET",
  path: "/welcome",
  permission: "session.open",
  reply: z.object({ shopName: z.string(), demo: z.array(demoSignInSchema) }),
});

export const peopleOperations = [
  openSession,
  getSession,
  closeSession,
  setPin,
  changePassword,
  listOwnSessions,
  endOwnSession,
  listOwnTokens,
  createToken,
  revokeOwnToken,
  listPeople,
  createPerson,
  getPerson,
  changePerson,
  resetPassword,
  forgetPerson,
  forgetCalibrator,
  listSessionsOfPerson,
  endSessionsOfPerson,
  listTokensOfPerson,
  revokeTokenOfPerson,
  getShop,
  getAveraging,
  changeShop,
  getWelcome,
];
