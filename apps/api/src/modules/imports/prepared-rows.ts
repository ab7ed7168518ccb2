import type { ImportMappingBody } from "@sealbook/contract/imports";
import type { Layout } from "./lay-out-columns.ts";
import type { RowProblem } from "./store.ts";

export interface RowSource<Mapping extends ImportMappingBody = ImportMappingBody> {
  readonly importId: string;
  /** The shipment of a maker's list; null for tests. */
  readonly lotId: string | null;
  readonly mapping: Mapping;
  readonly layout: Layout;
  /** Who has the file taken in. */
  readonly actorId: string;
  readonly now: Date;
  /**
   * Row of each thing that the file named before, where a repetition is to be found, as the dry run does; null where
   * that was done.
   */
  readonly seen: Map<string, number> | null;
}

export interface PreparedRows {
  /** How many rows go in. */
  readonly good: number;
  /** How many are in the book already. */
  readonly already: number;
  readonly problems: readonly RowProblem[];
  /** Puts the good rows in, in the transaction that they were judged in. */
  readonly putIn: () => Promise<void>;
}
