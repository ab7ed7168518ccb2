import { inflateSync } from "node:zlib";

/**
 * The searchable text of a PDF, page by page, as a reader copies it out: from the pages' content streams through the
 * fonts' ToUnicode maps (ISO 32000-1, 9.4 and 9.10). It reads PDFs without object streams and encryption, which is
 * what the service writes; the pieces of a page are joined by spaces in the order in which they are shown.
 *
 * @throws Error if a page, a font or its map cannot be found
 */
export function readPdf(pdf: Buffer): { pages: string[]; metadata: string } {
  const source = pdf.toString("latin1");
  const objects = new Map<string, string>();
  for (const [, number = "", body = ""] of source.matchAll(/(?:^|\s)(\d+) 0 obj\b(.*?)\bendobj/gs)) {
    objects.set(number, body);
  }
  const pages = [...objects.values()].filter((body) => /\/Type \/Page\b(?!s)/.test(body));
  if (pages.length === 0) throw new Error("no page was found");
  const metadata = [...objects.values()].find((body) => /\/Type \/Metadata\b/.test(body));
  return {
    pages: pages.map((page) => textOf(page, objects)),
    metadata: metadata === undefined ? "" : Buffer.from(streamOf(metadata), "latin1").toString("utf8"),
  };
}

function textOf(page: string, objects: Map<string, string>): string {
  const maps = new Map<string, Map<string, string>>();
  const fonts = /\/Font\s*<<(.*?)>>/s.exec(page)?.[1] ?? "";
  for (const [, name = "", reference = ""] of fonts.matchAll(/\/(\S+) (\d+) 0 R/g)) {
    const map = /\/ToUnicode (\d+) 0 R/.exec(get(objects, reference))?.[1];
    if (map === undefined) throw new Error(`font ${name} has no ToUnicode map`);
    maps.set(name, unicodeMap(streamOf(get(objects, map))));
  }
  const contents = /\/Contents (\d+) 0 R/.exec(page)?.[1];
  if (contents === undefined) throw new Error("a page has no content");
  return shownText(streamOf(get(objects, contents)), maps);
}

function get(objects: Map<string, string>, number: string): string {
  const body = objects.get(number);
  if (body === undefined) throw new Error(`object ${number} was not found`);
  return body;
}

function streamOf(body: string): string {
  const start = /stream\r?\n/.exec(body);
  if (start === null) throw new Error("an object has no stream");
  const dictionary = body.slice(0, start.index);
  const length = Number(/\/Length (\d+)/.exec(dictionary)?.[1]);
  const bytes = body.slice(start.index + start[0].length, start.index + start[0].length + length);
  return dictionary.includes("/FlateDecode")
    ? inflateSync(Buffer.from(bytes, "latin1")).toString("latin1")
    : bytes;
}

/** Codes of a font (as hexadecimal digits) to the characters that they stand for. */
function unicodeMap(cmap: string): Map<string, string> {
  const map = new Map<string, string>();
  for (const [, block = ""] of cmap.matchAll(/beginbfchar(.*?)endbfchar/gs)) {
    for (const [, code = "", unicode = ""] of block.matchAll(/<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>/g)) {
      map.set(code.toUpperCase(), utf16(unicode));
    }
  }
  for (const [, block = ""] of cmap.matchAll(/beginbfrange(.*?)endbfrange/gs)) {
    for (const [, first = "", last = "", unicode = ""] of block.matchAll(
      /<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>/g,
    )) {
      for (let code = Number.parseInt(first, 16); code <= Number.parseInt(last, 16); code++) {
        const shifted = (Number.parseInt(unicode, 16) + code - Number.parseInt(first, 16)).toString(16);
        map.set(
          code.toString(16).toUpperCase().padStart(first.length, "0"),
          utf16(shifted.padStart(unicode.length, "0")),
        );
      }
    }
  }
  return map;
}

function utf16(hex: string): string {
  return Buffer.from(hex, "hex").swap16().toString("utf16le");
}

/** The text that a content stream shows: the strings between BT and ET, by the map of the font that Tf chose. */
function shownText(content: string, maps: Map<string, Map<string, string>>): string {
  let map: Map<string, string> | undefined;
  let inText = false;
  let text = "";
  const operator = /BT\b|ET\b|\/(\S+) [\d.]+ Tf\b|<([0-9A-Fa-f\s]+)>|\(/g;
  for (let found = operator.exec(content); found !== null; found = operator.exec(content)) {
    const [word, font, hex] = found;
    if (word === "BT") inText = true;
    else if (word === "ET") {
      inText = false;
      text += " ";
    } else if (font !== undefined) map = maps.get(font);
    else {
      const end = word === "(" ? endOfLiteral(content, operator.lastIndex) : operator.lastIndex;
      const bytes =
        word === "("
          ? Buffer.from(unescaped(content.slice(operator.lastIndex, end - 1)), "latin1")
          : Buffer.from(hex ?? "", "hex");
      operator.lastIndex = end;
      if (inText) text += decoded(bytes, map);
    }
  }
  return text;
}

/** Place after the bracket that closes a literal string; brackets in pairs may stand in it unescaped. */
function endOfLiteral(content: string, start: number): number {
  let depth = 1;
  for (let at = start; at < content.length; at++) {
    if (content[at] === "\\") at++;
    else if (content[at] === "(") depth++;
    else if (content[at] === ")" && --depth === 0) return at + 1;
  }
  throw new Error("a string does not end");
}

function decoded(bytes: Buffer, map: Map<string, string> | undefined): string {
  let text = "";
  for (let at = 0; at + 1 < bytes.length; at += 2) {
    text +=
      map?.get(
        bytes
          .subarray(at, at + 2)
          .toString("hex")
          .toUpperCase(),
      ) ?? "\ufffd";
  }
  return text;
}

const escapes: Record<string, string> = { n: "\n", r: "\r", t: "\t", b: "\b", f: "\f" };

function unescaped(literal: string): string {
  return literal.replace(/\\(?:([0-7]{1,3})|\r?\n|([\s\S]))/g, (_all, octal?: string, other?: string) => {
    if (octal !== undefined) return String.fromCharCode(Number.parseInt(octal, 8));
    return other === undefined ? "" : (escapes[other] ?? other);
  });
}
