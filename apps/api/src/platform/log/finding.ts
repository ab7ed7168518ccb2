/** What is wrong with a log or with what it vouches for, by name, and a sentence that says where. */
export interface Finding {
  readonly name:
    | "entry-changed"
    | "older-format"
    | "leaf-without-entry"
    | "leaf-missing"
    | "subtree-differs"
    | "entry-without-leaf"
    | "waiting-entry-removed"
    | "head-differs"
    | "signed-head-differs"
    | "signature-false"
    | "outside-head-refused"
    | "outside-head-ahead"
    | "outside-head-differs"
    | "row-changed"
    | "row-without-entry"
    | "row-removed"
    | "rows-without-entry"
    | "table-unbound"
    | "personal-value-changed"
    | "file-changed";
  readonly sentence: string;
}
