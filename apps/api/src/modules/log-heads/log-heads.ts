import { type LostHistory, mostOutlets, type NewOutlet, type Outlet } from "@sealbook/contract/log-heads";
import { may } from "@sealbook/contract/permissions";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { headIn, setHeadFileAside } from "../../platform/log/head-file.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import type { Actor, Source, Tx } from "../../platform/transaction.ts";
import { requireOwnPassword } from "../people/people.ts";
import { askForDelivery } from "./jobs.ts";
import {
  countActive,
  findLostHistory,
  findOutlet,
  findOutlets,
  insertOutlet,
  lockLostHistory,
  lockOutlet,
  setHistoryAccepted,
  updateOutlet,
} from "./store.ts";

/** Where heads are sent, and what arrived. Paths and addresses are for those who set them. */
export async function listOutlets(source: Source, actor: Actor | null): Promise<{ rows: Outlet[] }> {
  const rows = await findOutlets(source);
  return {
    rows: may(actor?.role ?? null, "log.manage")
      ? rows
      : rows.map((outlet) => ({ ...outlet, target: withoutPath(outlet) })),
  };
}

function withoutPath({ kind, target }: Outlet): string {
  return kind === "folder" ? "a folder of the server" : `an address at ${new URL(target).host}`;
}

/** Sends heads to one more folder or address; the first one goes out at once. */
export async function addOutlet(tx: Tx, outlet: NewOutlet): Promise<Outlet> {
  await requireRoom(tx);
  const entryId = await writeEntry(tx, {
    action: "logOutlet.add",
    subjectType: "logOutlet",
    subjectId: outlet.id,
    reason: outlet.reason,
    payload: { kind: outlet.kind, target: outlet.target },
  });
  await onceEach(() =>
    insertOutlet(tx, { id: outlet.id, kind: outlet.kind, target: outlet.target }, entryId),
  );
  await askForDelivery(tx, outlet.id);
  return await outletById(tx, outlet.id);
}

/** Stops sending to an outlet, or begins again. */
export async function changeOutlet(
  tx: Tx,
  id: string,
  version: number,
  change: { active: boolean; reason: string },
): Promise<Outlet> {
  if (!(await lockOutlet(tx, id))) throw notFound("folder or address");
  const before = await outletById(tx, id);
  if (before.version !== version) {
    throw new ProblemError("stale", "Somebody else changed this in the meantime; look again, then decide.", {
      current: before,
    });
  }
  if (before.active === change.active) return before;
  if (change.active) await requireRoom(tx);
  const entryId = await writeEntry(tx, {
    action: "logOutlet.change",
    subjectType: "logOutlet",
    subjectId: id,
    reason: change.reason,
    payload: { active: change.active, before: { active: before.active } },
  });
  await onceEach(() => updateOutlet(tx, id, change.active, entryId));
  if (change.active) await askForDelivery(tx, id);
  return await outletById(tx, id);
}

/** Asks for the newest head to be sent now. */
export async function sendHead(tx: Tx, id: string): Promise<void> {
  const outlet = await outletById(tx, id);
  if (!outlet.active)
    throw new ProblemError("wrong-state", "Nothing is sent there at present; begin again first.");
  await askForDelivery(tx, id);
}

/** Folders that heads are sent to at present. */
export async function findOutletFolders(source: Source): Promise<string[]> {
  return (await findOutlets(source))
    .filter(({ kind, active }) => kind === "folder" && active)
    .map(({ target }) => target);
}

async function outletById(source: Source, id: string): Promise<Outlet> {
  const outlet = await findOutlet(source, id);
  if (outlet === null) throw notFound("folder or address");
  return outlet;
}

async function requireRoom(tx: Tx): Promise<void> {
  if ((await countActive(tx)) >= mostOutlets) {
    throw refusedByRule("target", `Heads go to at most ${mostOutlets} places; stop one first.`);
  }
}

async function onceEach(write: () => Promise<void>): Promise<void> {
  try {
    await write();
  } catch (error) {
    if (!isUniqueViolation(error, "log_outlet_once")) throw error;
    throw new ProblemError("already-exists", "Heads are sent there already.", {
      errors: [{ pointer: "/target", detail: "Heads are sent there already." }],
    });
  }
}

/** A head that left and is not under the log any more, while nobody has signed what happened. */
export async function getLostHistory(source: Source): Promise<{ lost: LostHistory | null }> {
  return { lost: await findLostHistory(source) };
}

/**
 * Signs what happened to a history that is lost: the entry names the head that left, so that whoever holds it finds out
 * why the log does not lead to it. From then on ledger and log take entries again.
 *
 * @param headFolder that keeps the heads of this process; the lost one is put aside in it
 */
export async function acceptHistory(
  tx: Tx,
  id: string,
  request: { password: string; reason: string },
  headFolder: string,
): Promise<void> {
  const lost = await lockLostHistory(tx, id);
  if (lost === null) throw notFound("lost history");
  if (lost.isAccepted) throw new ProblemError("wrong-state", "Somebody has signed this already.");
  await requireOwnPassword(tx, request.password, "/password");
  const root = headIn(lost.note)?.root ?? new Uint8Array();
  const entryId = await writeEntry(tx, {
    action: "log.acceptHistory",
    subjectType: "logHead",
    subjectId: id,
    reason: request.reason,
    payload: {
      lostSize: lost.size,
      lostRoot: Buffer.from(root).toString("hex"),
      lostHead: lost.note,
      foundSize: lost.foundSize,
      meaning: "history accepted",
    },
  });
  await setHistoryAccepted(tx, id, entryId);
  for (const folder of [headFolder, ...(await findOutletFolders(tx))]) {
    // A folder that is away keeps its head until the next start looks into it.
    await setHeadFileAside(folder, lost.note).catch(() => undefined);
  }
}
