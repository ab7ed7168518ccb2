import type { StoredFile } from "@sealbook/contract/files";
import type { Database } from "../../platform/database.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface FileRow {
  id: string;
  name: string;
  media_type: string;
  size: number;
  sha256: string;
  recorded_at: Date;
}

const fileColumns = "id, name, media_type, size, sha256, recorded_at";

export async function findFile(source: Source, id: string): Promise<StoredFile | null> {
  const [row] = await source.query<FileRow>(`SELECT ${fileColumns} FROM file WHERE id = $1`, [id]);
  return row === undefined ? null : toStoredFile(row);
}

export async function insertFile(
  tx: Tx,
  file: { id: string; name: string; mediaType: string; size: number; sha256: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO file (id, name, media_type, size, sha256, entry_id) VALUES ($1, $2, $3, $4, $5, $6)",
    [file.id, file.name, file.mediaType, file.size, file.sha256, entryId],
  );
}

export async function insertChunk(tx: Tx, fileId: string, number: number, bytes: Buffer): Promise<void> {
  await tx.query("INSERT INTO file_chunk (file_id, number, bytes) VALUES ($1, $2, $3)", [
    fileId,
    number,
    bytes,
  ]);
}

/** One chunk of a file; null past its last. */
export async function findChunk(
  pool: Pick<Database["pool"], "query">,
  fileId: string,
  number: number,
): Promise<Buffer | null> {
  const { rows } = await pool.query<{ bytes: Buffer }>(
    "SELECT bytes FROM file_chunk WHERE file_id = $1 AND number = $2",
    [fileId, number],
  );
  return rows[0]?.bytes ?? null;
}

/** The same within a transaction, which may have written it. */
export async function findChunkIn(tx: Tx, fileId: string, number: number): Promise<Buffer | null> {
  const [row] = await tx.query<{ bytes: Buffer }>(
    "SELECT bytes FROM file_chunk WHERE file_id = $1 AND number = $2",
    [fileId, number],
  );
  return row?.bytes ?? null;
}

function toStoredFile(row: FileRow): StoredFile {
  return {
    id: row.id,
    name: row.name,
    mediaType: row.media_type,
    size: row.size,
    sha256: row.sha256,
    recordedAt: row.recorded_at.toISOString(),
  };
}
