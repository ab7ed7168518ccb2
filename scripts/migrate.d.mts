/** Where the migrations of this version stand. */
export const migrationsFolder: string;

/** What migrate needs of a connection of `pg`: a Client or a PoolClient. */
export interface MigrationConnection {
  query(sql: string, values?: unknown[]): Promise<{ rows: unknown[] }>;
}

export interface MigrateOptions {
  /** Address of the database, as the role that owns its tables. Give this or `client`. */
  connectionString?: string;
  /** An open connection that nothing else uses meanwhile. Give this or `connectionString`. */
  client?: MigrationConnection;
  /** The folder of `<stamp>_<name>/migration.sql`; prisma/migrations of the checkout unless told otherwise. */
  folder?: string;
  /** Called with one sentence for each migration that is applied. */
  log?: (line: string) => void;
}

/**
 * Brings a database to the newest migration: each file in the order of its name and in its own transaction,
 * under an advisory lock (several processes may start at once), recorded in Prisma's table `_prisma_migrations`.
 *
 * @returns the names of the migrations that were applied now, none when the database is up to date
 * @throws Error when an applied file was changed, when the database has a migration that is not in the folder,
 *   or when a statement fails; the database then is as it was before that migration
 */
export function migrate(options: MigrateOptions): Promise<string[]>;
