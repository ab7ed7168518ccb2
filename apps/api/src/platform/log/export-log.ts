import { toHex } from "@sealbook/evidence/bytes";
import { exportHeadingLine, exportHeadLine, exportLeafLine } from "@sealbook/evidence/log-export";
import { loggedRows } from "@sealbook/evidence/logged-rows";
import {
  findCheckpointNote,
  findCheckpoints,
  findHead,
  findLeavesFrom,
  findLogKeys,
  findRowLines,
  type Reader,
} from "./store.ts";

const pageSize = 2000;

/**
 * The lines of an export of the log, up to its newest signed head; log-export.ts of evidence says what they hold and
 * checks them.
 *
 * @param reader one transaction that sees one state of the database throughout
 * @throws Error if no head was signed yet
 */
export async function* exportLog(reader: Reader): AsyncGenerator<string> {
  const { logId } = await findHead(reader);
  const heads = (await findCheckpoints(reader)).map(({ size }) => size);
  const last = heads.at(-1);
  if (last === undefined) throw new Error("No head of the log was signed yet: there is nothing to export.");
  yield exportHeadingLine({ origin: `sealbook/${logId}`, keys: await findLogKeys(reader) });
  const signed = new Set(heads);
  for (let next = 0; next < last; ) {
    const leaves = await findLeavesFrom(reader, next, Math.min(pageSize, last - next));
    if (leaves.length === 0) throw new Error(`Leaf ${next} is missing: verify the database.`);
    const lines = await findRowLines(
      reader,
      leaves.map(({ entryId }) => entryId),
    );
    for (const { index, entryId, entry, format, hash } of leaves) {
      if (entry === null) throw new Error(`Entry ${entryId} of leaf ${index} is gone: verify the database.`);
      const rows = format === 1 ? null : loggedRows(lines.get(entryId) ?? []);
      yield exportLeafLine({ index, entry, rows, leaf: toHex(hash) });
      next = index + 1;
      if (signed.has(next)) yield exportHeadLine((await findCheckpointNote(reader, next)) ?? "");
    }
  }
}
