import { readFileSync } from "node:fs";
import { NodeCompiler } from "@myriaddreamin/typst-ts-node-compiler";

/** A document's template: Typst markup that reads its data from `json(bytes(sys.inputs.data))`. */
export interface Template {
  readonly markup: string;
}

export function readTemplate(path: URL): Template {
  return { markup: readFileSync(path, "utf8") };
}

/** One compiler for the process: it holds the fonts, which take longer to load than a page to set. */
let compiler: NodeCompiler | null = null;

/** Typst names each text that the embedded fonts cannot show. */
const undisplayable = /the text `\\?"(.+?)\\?"` could not be displayed/gu;

/**
 * Sets a document as PDF/UA-1 with embedded fonts and searchable text. The same template and data give the same
 * bytes: the template states the document's date, and nothing else of time or place enters.
 *
 * Data reach the template as JSON and are never spliced into its markup, so nobody can write markup into a document.
 * Characters that the fonts do not have are written as their code points, "[U+6F22]", rather than left out.
 *
 * @throws Error if the template cannot be compiled
 */
export function renderPdf(template: Template, data: unknown): Buffer {
  const json = JSON.stringify(data);
  try {
    return compile(template, json);
  } catch (error) {
    const unknown = new Set(
      [...messageOf(error).matchAll(undisplayable)].flatMap(([, text]) => [...(text ?? "")]),
    );
    if (unknown.size === 0) throw error;
    return compile(
      template,
      JSON.stringify(data, (_field, value: unknown) => spelledOut(value, unknown)),
    );
  } finally {
    compiler?.evictCache(10);
  }
}

function compile({ markup }: Template, data: string): Buffer {
  compiler ??= NodeCompiler.create();
  const compiled = compiler.compile({ mainFileContent: markup, inputs: { data } });
  if (compiled.result === null) {
    throw new Error(
      `a document could not be set: ${JSON.stringify(compiled.takeDiagnostics()?.shortDiagnostics)}`,
    );
  }
  return compiler.pdf(compiled.result, { pdfStandard: "ua-1" });
}

function spelledOut(value: unknown, unknown: ReadonlySet<string>): unknown {
  if (typeof value !== "string") return value;
  return [...value].map((character) => (unknown.has(character) ? codePoint(character) : character)).join("");
}

function codePoint(character: string): string {
  return `[U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, "0")}]`;
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
