import { z } from "zod";
import { idParams, idSchema, instantSchema, lineSchema, reasonSchema } from "./common.ts";
import { operation } from "./operation.ts";

/** Outlets in use at once, at most. */
export const mostOutlets = 20;
/** The newest head goes out this often, and is overdue when it has waited twice as long. In minutes. */
export const minutesBetweenDeliveries = 5;

export const outletKinds = ["folder", "address"] as const;

/** Where an address may lead: https, or this very machine; no name or password in it. */
export function refusalOfAddress(text: string): string | null {
  let url: URL;
  try {
    url = new URL(text);
  } catch {
    return "Must be a whole address, such as https://log.example.org/heads.";
  }
  const isHere = ["127.0.0.1", "[::1]", "localhost"].includes(url.hostname);
  if (url.protocol !== "https:" && !(url.protocol === "http:" && isHere)) {
    return "Must begin with https://, so that nobody on the way can change what is sent.";
  }
  if (url.username !== "" || url.password !== "") return "Must not hold a name or a password.";
  return null;
}

const newOutletSchema = z
  .strictObject({
    id: idSchema,
    kind: z.enum(outletKinds),
    target: lineSchema(500).describe(
      "An existing folder of the server, as a whole path; or an address, https",
    ),
    reason: reasonSchema,
  })
  .superRefine(({ kind, target }, context) => {
    const refusal =
      kind === "address"
        ? refusalOfAddress(target)
        : /^(\/|[A-Za-z]:[\\/])/.test(target)
          ? null
          : "Must be a whole path, such as /mnt/audit/heads.";
    if (refusal !== null) context.addIssue({ code: "custom", path: ["target"], message: refusal });
  });
export type NewOutlet = z.infer<typeof newOutletSchema>;

export const outletSchema = z.object({
  id: idSchema,
  kind: z.enum(outletKinds),
  target: z.string().describe("The path or address; for those who may not change it, only what kind it is"),
  active: z.boolean(),
  delivered: z
    .object({ size: z.int(), at: instantSchema })
    .nullable()
    .describe("The last head that arrived: entries under it, and when"),
  failed: z
    .object({ at: instantSchema, sentence: z.string() })
    .nullable()
    .describe("The last attempt, if it failed"),
  overdue: z.boolean().describe("A newer head has waited for ten minutes"),
  version: z.int(),
});
export type Outlet = z.infer<typeof outletSchema>;

export const listOutlets = operation({
  id: "logHeads.listOutlets",
  summary: "Where the log's signed heads are sent, and what arrived",
  method: "GET",
  path: "/log/outlets",
  permission: "log.read",
  reply: z.object({ rows: z.array(outletSchema).max(100).describe("Those in use first") }),
});

export const addOutlet = operation({
  id: "logHeads.addOutlet",
  summary: "Send the log's signed heads to one more folder or address",
  method: "POST",
  path: "/log/outlets",
  permission: "log.manage",
  body: newOutletSchema,
  reply: outletSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const changeOutlet = operation({
  id: "logHeads.changeOutlet",
  summary: "Stop sending heads to a folder or address, or begin again",
  method: "PUT",
  path: "/log/outlets/:id",
  permission: "log.manage",
  params: idParams,
  body: z.strictObject({ active: z.boolean(), reason: reasonSchema }),
  reply: outletSchema,
  versioned: true,
  problems: ["not-found", "stale", "already-exists", "refused-by-rule"],
});

export const sendHead = operation({
  id: "logHeads.send",
  summary: "Send the newest signed head now; the list tells what became of it",
  method: "POST",
  path: "/log/outlets/:id/send",
  permission: "log.manage",
  params: idParams,
  status: 204,
  problems: ["not-found", "wrong-state"],
});

export const lostHistorySchema = z.object({
  id: idSchema,
  size: z.int().describe("Entries under the head that left"),
  note: z.string().describe("That head, signed"),
  foundSize: z.int().describe("Entries in the log when it was found out"),
  foundAt: instantSchema,
});
export type LostHistory = z.infer<typeof lostHistorySchema>;

export const getLostHistory = operation({
  id: "logHeads.getLostHistory",
  summary: "Whether a head of the log left this database that is not under its log any more",
  method: "GET",
  path: "/log/lost-history",
  permission: "session.self",
  reply: z.object({ lost: lostHistorySchema.nullable() }),
});

export const acceptHistory = operation({
  id: "logHeads.acceptHistory",
  summary: "Sign what happened to the history that is lost, so that work goes on from the one that is there",
  method: "POST",
  path: "/log/lost-history/:id/accept",
  permission: "log.manage",
  params: idParams,
  body: z.strictObject({ password: z.string().max(200), reason: reasonSchema }),
  status: 204,
  problems: ["not-found", "wrong-state", "sign-in-refused"],
});

export const logHeadOperations = [
  listOutlets,
  addOutlet,
  changeOutlet,
  sendHead,
  getLostHistory,
  acceptHistory,
];
