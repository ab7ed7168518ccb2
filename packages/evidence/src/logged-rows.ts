import { toHex, utf8 } from "./bytes.ts";
import { canonicalJson } from "./canonical-json.ts";
import { leafHash } from "./leaf-and-node-hash.ts";
import { merkleTreeHash } from "./merkle-tree-hash.ts";

/** Rows of one table that one statement wrote under an entry: their hashes, packed. */
export interface RowLine {
  /** Place among all lines of the database; of two lines with the same row the higher one is the later. */
  readonly place: number;
  /** Name of the table. */
  readonly table: string;
  /** RFC 6962 leaf hashes of the rows' texts, 32 bytes each, in the order of the rows' keys. */
  readonly hashes: Uint8Array;
}

/** What a leaf of the log holds of the rows that its entry wrote. */
export interface LoggedRows {
  /** How many rows the entry wrote. */
  readonly count: number;
  /** Root over the lines, 64 hexadecimal digits. */
  readonly root: string;
}

/**
 * Root over all rows that an entry wrote: a Merkle tree of its lines in order of their places, each of them the root
 * over its rows with table, place and count.
 *
 * @param lines of one entry, in order of their places; none gives the root of no leaves
 * @throws RangeError if the hashes of a line are not whole ones
 * @source RFC 6962 section 2.1 for every tree and leaf; RFC 8785 for the text of a line
 */
export function loggedRows(lines: readonly RowLine[]): LoggedRows {
  let count = 0;
  const leaves = lines.map((line) => {
    const hashes = hashesIn(line.hashes);
    count += hashes.length;
    return leafHash(utf8(rowLineText(line, hashes)));
  });
  return { count, root: toHex(merkleTreeHash(leaves)) };
}

function rowLineText({ place, table }: RowLine, hashes: readonly Uint8Array[]): string {
  return canonicalJson({ count: hashes.length, place, root: toHex(merkleTreeHash(hashes)), table });
}

function hashesIn(packed: Uint8Array): Uint8Array[] {
  if (packed.length % 32 !== 0) throw new RangeError("hashes of rows are 32 bytes each");
  return Array.from({ length: packed.length / 32 }, (_, at) => packed.subarray(at * 32, at * 32 + 32));
}

/**
 * Hash of a row: RFC 6962 leaf hash of its text, 32 bytes.
 *
 * @param text the row as the database's JSON has it (to_jsonb under time zone UTC, without members that are null); of a
 *             record's parts their texts in byte order, joined by line feeds
 */
export function rowHash(text: string): Uint8Array {
  return leafHash(utf8(text));
}
