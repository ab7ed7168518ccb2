import type { Account, Shop } from "@sealbook/contract/people";
import type { Role } from "@sealbook/contract/permissions";
import type { Database } from "../../platform/database.ts";
import { erasedText } from "../../platform/personal-values.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

export interface AccountRow {
  id: string;
  username: string;
  name_id: string;
  name: string | null;
  role: Role;
  active: boolean;
  password_hash: string;
  pin_hash: string | null;
  must_change_password: boolean | null;
  password_until: Date | null;
  place_ids: string[] | null;
  places: { id: string; kind: string; name: string }[];
  created_at: Date;
  version: number;
}

const accountColumns = `a.id, a.username, a.name_id, p.value AS name, a.role, a.active, a.password_hash, a.pin_hash, a.created_at, a.version,
  a.must_change_password, a.password_until, a.place_ids,
  (SELECT coalesce(json_agg(json_build_object('id', l.id, 'kind', l.kind, 'name', l.name) ORDER BY l.name, l.id), '[]')
   FROM place l WHERE l.id = ANY(a.place_ids)) AS places
  FROM account a JOIN personal_value p ON p.id = a.name_id`;

export async function findAccountByUsername(tx: Tx, username: string): Promise<AccountRow | null> {
  const [row] = await tx.query<AccountRow>(`SELECT ${accountColumns} WHERE a.username = $1`, [username]);
  return row ?? null;
}

export async function findAccount(tx: Source, id: string): Promise<AccountRow | null> {
  const [row] = await tx.query<AccountRow>(`SELECT ${accountColumns} WHERE a.id = $1`, [id]);
  return row ?? null;
}

/** The account, locked until the transaction ends. */
export async function lockAccount(tx: Tx, id: string): Promise<AccountRow | null> {
  const [row] = await tx.query<AccountRow>(
    `SELECT ${accountColumns} WHERE a.id = $1 FOR NO KEY UPDATE OF a`,
    [id],
  );
  return row ?? null;
}

export async function insertAccount(
  tx: Tx,
  account: {
    id: string;
    username: string;
    nameId: string;
    role: Role;
    passwordHash: string;
    /** The password was given by somebody else, and is changed at its first use. */
    mustChangePassword: boolean;
    /** After this moment the password opens nothing; null is never. */
    passwordUntil: Date | null;
    entryId: string;
  },
): Promise<void> {
  await tx.query(
    `INSERT INTO account (id, username, name_id, role, password_hash, must_change_password, password_until, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [
      account.id,
      account.username,
      account.nameId,
      account.role,
      account.passwordHash,
      account.mustChangePassword ? true : null,
      account.passwordUntil,
      account.entryId,
    ],
  );
}

export async function updateAccount(
  tx: Tx,
  id: string,
  change: {
    username: string;
    nameId: string;
    role: Role;
    active: boolean;
    placeIds: readonly string[];
    entryId: string;
  },
): Promise<void> {
  await tx.query(
    `UPDATE account SET username = $2, name_id = $3, role = $4, active = $5, place_ids = nullif($6::uuid[], '{}'),
       entry_id = $7, version = version + 1 WHERE id = $1`,
    [id, change.username, change.nameId, change.role, change.active, change.placeIds, change.entryId],
  );
}

/**
 * Sets a password.
 *
 * @param until for one that somebody else gave, which is changed at its first use: when it runs out; null for one's own
 */
export async function updatePassword(
  tx: Tx,
  id: string,
  passwordHash: string,
  until: Date | null,
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE account SET password_hash = $2, must_change_password = $3, password_until = $4, entry_id = $5,
       version = version + 1 WHERE id = $1`,
    [id, passwordHash, until === null ? null : true, until, entryId],
  );
}

/** Keeps the same password under another hash; nobody's edit of the account becomes stale by it. */
export async function updatePasswordHash(
  tx: Tx,
  id: string,
  hash: { from: string; to: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "UPDATE account SET password_hash = $3, entry_id = $4 WHERE id = $1 AND password_hash = $2",
    [id, hash.from, hash.to, entryId],
  );
}

export async function updatePin(tx: Tx, id: string, pinHash: string, entryId: string): Promise<void> {
  await tx.query("UPDATE account SET pin_hash = $2, entry_id = $3, version = version + 1 WHERE id = $1", [
    id,
    pinHash,
    entryId,
  ]);
}

/** How many active administrators there are besides this account, with all of them locked. */
export async function countOtherAdministrators(tx: Tx, id: string): Promise<number> {
  const rows = await tx.query(
    "SELECT id FROM account WHERE role = 'administrator' AND active AND id <> $1 FOR UPDATE",
    [id],
  );
  return rows.length;
}

/** People by username: the key of the page is the username, which is unique. */
export async function listAccounts(
  source: Source,
  filter: { role: Role | undefined; after: string | null; limit: number },
): Promise<Account[]> {
  const rows = await source.query<AccountRow>(
    `SELECT ${accountColumns} WHERE ($1::text IS NULL OR a.role = $1) AND ($2::text IS NULL OR a.username > $2)
     ORDER BY a.username LIMIT $3`,
    [filter.role ?? null, filter.after, filter.limit + 1],
  );
  return rows.map(toAccount);
}

/** Of these places the ones that exist and are no service point. */
export async function findWorkplaces(source: Source, ids: readonly string[]): Promise<string[]> {
  const rows = await source.query<{ id: string }>(
    "SELECT id FROM place WHERE id = ANY($1) AND kind <> 'service-point'",
    [ids],
  );
  return rows.map(({ id }) => id);
}

export function toAccount(row: AccountRow): Account {
  return {
    id: row.id,
    username: row.username,
    name: row.name ?? erasedText,
    role: row.role,
    active: row.active,
    hasPin: row.pin_hash !== null,
    mustChangePassword: row.must_change_password === true,
    places: row.places,
    createdAt: row.created_at.toISOString(),
    version: row.version,
  };
}

/** A shop as it is started; version and today come with being on record. */
export type NewShop = Pick<Shop, "name" | "timeZone" | "homeJurisdiction" | "demo">;

export async function findShop(database: Database): Promise<Omit<Shop, "today"> | null> {
  const row = await database.prisma.shop.findFirst();
  return row === null
    ? null
    : {
        name: row.name,
        timeZone: row.timeZone,
        homeJurisdiction: row.homeJurisdiction,
        demo: row.demo,
        version: row.version,
      };
}

export async function insertShop(tx: Tx, shop: NewShop, entryId: string): Promise<void> {
  await tx.query(
    "INSERT INTO shop (name, time_zone, home_jurisdiction, demo, entry_id) VALUES ($1, $2, $3, $4, $5)",
    [shop.name, shop.timeZone, shop.homeJurisdiction, shop.demo, entryId],
  );
}

export interface ShopRow {
  name: string;
  time_zone: string;
  home_jurisdiction: string;
  average_methods: string;
  demo: boolean;
  version: number;
}

/** The shop, locked until the transaction ends. */
export async function lockShop(tx: Tx): Promise<ShopRow | null> {
  const [row] = await tx.query<ShopRow>("SELECT * FROM shop FOR UPDATE");
  return row ?? null;
}

export async function findAverageMethods(source: Source): Promise<string> {
  const [row] = await source.query<{ average_methods: string }>("SELECT average_methods FROM shop");
  return row?.average_methods ?? "{}";
}

export async function updateShop(
  tx: Tx,
  shop: { name: string; timeZone: string; homeJurisdiction: string; averageMethods: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE shop SET name = $1, time_zone = $2, home_jurisdiction = $3, average_methods = $4, entry_id = $5, version = version + 1`,
    [shop.name, shop.timeZone, shop.homeJurisdiction, shop.averageMethods, entryId],
  );
}
