export interface Breach {
  /** Name of the law. */
  readonly law: string;
  /** The law in a sentence. */
  readonly says: string;
  /** The file that breaks it, from the checkout's root. */
  readonly file: string;
  readonly what: string;
}

/** Holds a checkout against the laws of the house. When `files` is 0 the tool could not read the sources. */
export function findBreaches(root: string): { files: number; breaches: Breach[] };
