import { createHash, randomUUID } from "node:crypto";
import { open, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Readable } from "node:stream";
import type { StoredFile } from "@sealbook/contract/files";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError } from "../../platform/problem-error.ts";
import { type Actor, inTransaction, type Source, type Tx } from "../../platform/transaction.ts";
import { cleanFileName } from "./clean-file-name.ts";
import { contentReader } from "./content-reader.ts";
import { findChunk, findChunkIn, findFile, insertChunk, insertFile } from "./store.ts";

const chunkBytes = 262_144;

interface Upload {
  readonly id: string;
  readonly name: string;
  readonly bytes: Readable & { readonly truncated?: boolean };
}

/**
 * Keeps a file byte for byte. The same id with the same bytes gives the file on record; with other bytes it is
 * refused.
 *
 * The bytes wait in a temporary file until all have come: a slow sender holds no database connection, and what is
 * too large or of no use never reaches the database.
 *
 * @throws ProblemError too-large, unsupported-file, key-reused
 */
export async function addFile(database: Database, actor: Actor, upload: Upload): Promise<StoredFile> {
  const path = join(tmpdir(), `sealbook-upload-${randomUUID()}`);
  try {
    const received = await receive(upload, path);
    try {
      return await inTransaction(database.pool, actor, async (tx) => {
        const kept = await findFile(tx, upload.id);
        if (kept !== null) return sameFile(kept, received.sha256);
        await store(tx, { id: upload.id, ...received }, path);
        return await getFileView(tx, upload.id);
      });
    } catch (error) {
      if (!isUniqueViolation(error)) throw error;
      // The same id was being kept at the same moment; it is on record by now.
      const kept = await inTransaction(database.pool, actor, (tx) => findFile(tx, upload.id));
      if (kept === null) throw error;
      return sameFile(kept, received.sha256);
    }
  } finally {
    await rm(path, { force: true });
  }
}

interface Received {
  readonly name: string;
  readonly mediaType: string;
  readonly size: number;
  readonly sha256: string;
}

async function receive(upload: Upload, path: string): Promise<Received> {
  const name = cleanFileName(upload.name);
  const hash = createHash("sha256");
  const content = contentReader(name);
  let size = 0;
  const file = await open(path, "wx", 0o600);
  try {
    for await (const piece of whole(upload.bytes)) {
      hash.update(piece);
      content.add(piece);
      size += piece.length;
      await file.write(piece);
    }
  } finally {
    await file.close();
  }
  if (upload.bytes.truncated === true) {
    throw new ProblemError("too-large", "This file is larger than the service takes; nothing was kept.");
  }
  const result = content.result();
  if (result.kind === "refused") throw new ProblemError("unsupported-file", result.reason);
  return { name, mediaType: result.mediaType, size, sha256: hash.digest("hex") };
}

/** The pieces of an upload. Whatever breaks while they come is the sender's: a connection that ended, or half a body. */
async function* whole(bytes: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
  const pieces = bytes[Symbol.asyncIterator]();
  try {
    for (;;) {
      let next: IteratorResult<Buffer>;
      try {
        next = await pieces.next();
      } catch (cause) {
        throw new ProblemError("malformed-request", "The file did not come whole; nothing was kept.", {
          cause,
        });
      }
      if (next.done) return;
      yield next.value;
    }
  } finally {
    await pieces.return?.();
  }
}

/** Chunks go first: the row that they belong to must name an entry, and the entry the hash of them all. */
async function store(tx: Tx, file: Received & { id: string }, path: string): Promise<void> {
  const handle = await open(path, "r");
  try {
    for (let number = 0; number * chunkBytes < file.size; number++) {
      const bytes = Buffer.alloc(Math.min(chunkBytes, file.size - number * chunkBytes));
      const { bytesRead } = await handle.read(bytes, 0, bytes.length, number * chunkBytes);
      if (bytesRead < bytes.length) throw new Error("the temporary file of an upload was cut short");
      await insertChunk(tx, file.id, number, bytes);
    }
  } finally {
    await handle.close();
  }
  // The name stays out of the ledger: people put names of persons into it.
  const entryId = await writeEntry(tx, {
    action: "file.add",
    subjectType: "file",
    subjectId: file.id,
    payload: { mediaType: file.mediaType, size: file.size, sha256: file.sha256 },
  });
  await insertFile(tx, file, entryId);
}

/**
 * Keeps bytes that the service itself made, such as a list that was hashed, in the caller's transaction.
 *
 * @returns the hash of the bytes
 */
export async function keepBytes(
  tx: Tx,
  file: { id: string; name: string; mediaType: string; bytes: Buffer },
): Promise<string> {
  const { id, name, mediaType, bytes } = file;
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  for (let number = 0; number * chunkBytes < bytes.length; number++) {
    await insertChunk(tx, id, number, bytes.subarray(number * chunkBytes, (number + 1) * chunkBytes));
  }
  const entryId = await writeEntry(tx, {
    action: "file.add",
    subjectType: "file",
    subjectId: id,
    payload: { mediaType, size: bytes.length, sha256 },
  });
  await insertFile(tx, { id, name: cleanFileName(name), mediaType, size: bytes.length, sha256 }, entryId);
  return sha256;
}

/** All bytes of a file, for what is small enough to be held and is needed within a transaction. */
export async function readBytes(tx: Tx, id: string): Promise<Buffer> {
  const file = await getFileView(tx, id);
  const chunks: Buffer[] = [];
  for (let number = 0; number * chunkBytes < file.size; number++) {
    const chunk = await findChunkIn(tx, id, number);
    if (chunk === null) throw new Error(`chunk ${number} of file ${id} is not on record`);
    chunks.push(chunk);
  }
  return Buffer.concat(chunks);
}

function sameFile(kept: StoredFile, sha256: string): StoredFile {
  if (kept.sha256 === sha256) return kept;
  throw new ProblemError("key-reused", "Another file is kept under this id; send yours under a new one.");
}

/** What is on record of a file. */
export async function getFileView(source: Source, id: string): Promise<StoredFile> {
  const file = await findFile(source, id);
  if (file === null) throw notFound("file");
  return file;
}

/** A file's bytes, one chunk in memory at a time. The file must be on record. */
export function readFileStream(database: Database, file: Pick<StoredFile, "id" | "size">): Readable {
  return Readable.from(
    (async function* () {
      for (let number = 0; number * chunkBytes < file.size; number++) {
        const chunk = await findChunk(database.pool, file.id, number);
        if (chunk === null) throw new Error(`chunk ${number} of file ${file.id} is not on record`);
        yield chunk;
      }
    })(),
    { objectMode: false },
  );
}
