import { shippedProfiles } from "@sealbook/metrology/profiles/shipped-profiles";
import type pg from "pg";
import { writeEntry } from "../../platform/ledger.ts";
import { keepPersonalValue } from "../../platform/personal-values.ts";
import { hashSecret } from "../../platform/secrets.ts";
import { newId, type Tx } from "../../platform/transaction.ts";
import { adoptProfile, proposeShipped } from "../profiles/profiles.ts";
import { insertAccount, insertShop, type NewShop } from "./store.ts";

/** The shop on record, or null in an empty database. */
export async function shopExists(pool: pg.Pool): Promise<{ demo: boolean } | null> {
  const { rows } = await pool.query<{ demo: boolean }>("SELECT demo FROM shop");
  return rows[0] ?? null;
}

/** Starts the book of record: the shop's name and time zone, and the rule profiles that ship with the service. */
export async function startShop(tx: Tx, shop: NewShop): Promise<void> {
  for (const profile of shippedProfiles) await adoptProfile(tx, profile);
  const entryId = await writeEntry(tx, {
    action: "shop.set",
    subjectType: "shop",
    subjectId: "shop",
    payload: { ...shop },
  });
  await insertShop(tx, shop, entryId);
}

/** Proposes the rule profiles that came with a newer service to a shop that is at work already. */
export async function offerShippedProfiles(tx: Tx): Promise<string[]> {
  return (await proposeShipped(tx, shippedProfiles)).map(({ key, version }) => `${key}, version ${version}`);
}

export async function createFirstAdministrator(tx: Tx, password: string): Promise<void> {
  const id = newId();
  const name = await keepPersonalValue(tx, "person-name", "Administrator");
  const entryId = await writeEntry(tx, {
    action: "account.create",
    subjectType: "account",
    subjectId: id,
    payload: { role: "administrator", username: "administrator", nameCommitment: name.commitment },
  });
  await insertAccount(tx, {
    id,
    username: "administrator",
    nameId: name.id,
    role: "administrator",
    passwordHash: await hashSecret(password),
    mustChangePassword: true,
    // It never runs out: nobody else could give another one.
    passwordUntil: null,
    entryId,
  });
}
