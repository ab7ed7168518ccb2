import { z } from "zod";

/** What a backup says of itself: which tables, how many rows, which log. */
export const manifestSchema = z.object({
  format: z.literal(1),
  /** When its snapshot was taken. */
  takenAt: z.iso.datetime(),
  /** Applied migrations in order, by name and checksum of their text. */
  migrations: z.array(z.object({ name: z.string(), checksum: z.string() })),
  log: z.object({
    origin: z.string(),
    size: z.int(),
    /** Root of the log in the snapshot, hexadecimal. */
    root: z.string(),
    /** The newest signed head in the snapshot; null when none was signed. */
    head: z.string().nullable(),
  }),
  tables: z.array(
    z.object({
      schema: z.string(),
      name: z.string(),
      columns: z.array(z.string()),
      rows: z.int(),
      /** File in the folder: PostgreSQL's COPY text, compressed with gzip. */
      file: z.string(),
      /** Of the file's bytes, hexadecimal. */
      sha256: z.string(),
    }),
  ),
  /** Numbers that are drawn one after the other, and how far they were. */
  sequences: z.array(
    z.object({ schema: z.string(), name: z.string(), value: z.string(), called: z.boolean() }),
  ),
});
export type Manifest = z.infer<typeof manifestSchema>;

export const manifestName = "backup.json";

/** Schemas of the service: its own, and that of the job queue. */
export const schemas = ["public", "graphile_worker"];
/** Tables that the migrations fill themselves. */
export const leftOut = ["public._prisma_migrations", "graphile_worker.migrations"];

/**
 * Columns that say something of the server that a database was on: the transaction of an entry. Restored, each entry is one
 * of the restoring transaction, which no later row can be of.
 */
export const leftOutColumns = ["public.ledger_entry.xact"];

export function quoted(...names: string[]): string {
  return names.map((name) => `"${name.replaceAll('"', '""')}"`).join(".");
}
