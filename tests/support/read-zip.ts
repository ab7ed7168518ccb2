import { inflateRawSync } from "node:zlib";

/**
 * Files of a ZIP archive by name, read by its central directory (APPNOTE.TXT 6.3, sections 4.3.7, 4.3.12 and 4.3.16);
 * stored or deflated, without encryption and ZIP64.
 *
 * @throws Error if it is no such archive
 */
export function readZip(bytes: Buffer): Map<string, Buffer> {
  const end = bytes.lastIndexOf(Buffer.from("PK\u0005\u0006", "latin1"));
  if (end === -1) throw new Error("this is no ZIP archive");
  const files = new Map<string, Buffer>();
  let at = bytes.readUInt32LE(end + 16);
  for (let left = bytes.readUInt16LE(end + 10); left > 0; left--) {
    if (bytes.readUInt32LE(at) !== 0x02014b50) throw new Error("the archive's directory is broken");
    const method = bytes.readUInt16LE(at + 10);
    const size = bytes.readUInt32LE(at + 20);
    const nameLength = bytes.readUInt16LE(at + 28);
    const name = bytes.toString("utf8", at + 46, at + 46 + nameLength);
    const local = bytes.readUInt32LE(at + 42);
    const data = local + 30 + bytes.readUInt16LE(local + 26) + bytes.readUInt16LE(local + 28);
    const packed = bytes.subarray(data, data + size);
    if (method !== 0 && method !== 8) throw new Error(`${name} is packed by method ${method}`);
    files.set(name, method === 0 ? packed : inflateRawSync(packed));
    at += 46 + nameLength + bytes.readUInt16LE(at + 30) + bytes.readUInt16LE(at + 32);
  }
  return files;
}
