/** What a file is, judged by its bytes: a name or a sender's word proves nothing. */
export type Content =
  | { kind: "taken"; mediaType: "application/pdf" | "image/png" | "image/jpeg" | "text/csv" | "text/plain" }
  | { kind: "refused"; reason: string };

const signatures = [
  { mediaType: "application/pdf", bytes: Buffer.from("%PDF-", "latin1") },
  { mediaType: "image/png", bytes: Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]) },
  { mediaType: "image/jpeg", bytes: Buffer.from([0xff, 0xd8, 0xff]) },
] as const;

/** Byte order marks of UTF-16, which spreadsheets write as "Unicode text". @source Unicode 16.0, section 23.8 */
const utf16Marks = [Buffer.from([0xff, 0xfe]), Buffer.from([0xfe, 0xff])];

const longestSignature = Math.max(...signatures.map(({ bytes }) => bytes.length));

/** Control characters that no text of a bench or a person holds; tab, line feed, form feed and return may stand. */
const notText = /[^\P{Cc}\t\n\f\r]/u;

/**
 * Reads a file piece by piece and says what it is: PDF, PNG and JPEG by their first bytes, text by being UTF-8 from
 * first to last. Holds nothing but the first few bytes.
 *
 * @param name cleaned file name; only tells CSV from other text
 * @source ISO 32000-1 7.5.2 (PDF header); PNG third edition 5.2; ITU-T T.81 B.1.1.3 (SOI, then a marker); RFC 3629
 */
export function contentReader(name: string): { add(piece: Buffer): void; result(): Content } {
  let head = Buffer.alloc(0);
  let size = 0;
  let isText = true;
  const decoder = new TextDecoder("utf-8", { fatal: true });
  const read = (decode: () => string) => {
    if (!isText) return;
    try {
      isText = !notText.test(decode());
    } catch {
      isText = false;
    }
  };
  return {
    add(piece) {
      if (head.length < longestSignature) head = Buffer.concat([head, piece.subarray(0, longestSignature)]);
      size += piece.length;
      read(() => decoder.decode(piece, { stream: true }));
    },
    result() {
      if (size === 0) return { kind: "refused", reason: "This file is empty." };
      const signature = signatures.find(({ bytes }) => head.subarray(0, bytes.length).equals(bytes));
      if (signature) return { kind: "taken", mediaType: signature.mediaType };
      read(() => decoder.decode());
      if (utf16Marks.some((mark) => head.subarray(0, 2).equals(mark))) {
        return { kind: "refused", reason: "This text is in UTF-16. Save it as UTF-8 and send it again." };
      }
      if (isText) return { kind: "taken", mediaType: /\.csv$/i.test(name) ? "text/csv" : "text/plain" };
      return {
        kind: "refused",
        reason:
          "This is neither a PDF, PNG or JPEG nor text in UTF-8. Save it as one of these and send it again.",
      };
    },
  };
}
