import { useState } from "react";
import type { z } from "zod";
import type { ProblemError } from "../api/problem-error.ts";
import { rebased } from "./rebased.ts";

/** A newer version that somebody saved while the form was open. */
export interface Clash<Form> {
  opened: Form;
  /** What saving one's changes on top of the newer version would leave. */
  mine: Form;
  theirs: Form;
  /** The newer version's number. */
  version: number;
  /** Puts one's changes on top of the newer version. */
  keepMine: () => void;
  /** Puts the newer version into the form. */
  takeTheirs: () => void;
}

export interface VersionedForm<Row, Form> {
  /** The version that the form was filled from. */
  base: Row;
  form: Form;
  change: (changes: Partial<Form>) => void;
  /** Says that the form holds this version now, as after a save that the screen outlives. */
  rebase: (row: Row) => void;
  isChanged: boolean;
  clash: Clash<Form> | null;
}

/**
 * The form of a record that others may change meanwhile.
 *
 * @param opened           the record when the form was opened
 * @param options.schema   reads the newer version that comes with a clash
 * @param options.formOf   the fields of the form, from a record
 * @param options.problem  what refused the last save, null while nothing did
 */
export function useVersionedForm<Row extends { version: number }, Form extends object>(
  opened: Row,
  {
    schema,
    formOf,
    problem,
  }: { schema: z.ZodType<Row>; formOf: (row: Row) => Form; problem: ProblemError | null },
): VersionedForm<Row, Form> {
  const [base, rebase] = useState(opened);
  const [form, setForm] = useState(() => formOf(opened));
  const newer = problem?.slug === "stale" ? schema.safeParse(problem.current).data : undefined;
  return {
    base,
    form,
    change: (changes) => setForm((now) => ({ ...now, ...changes })),
    rebase,
    isChanged: JSON.stringify(form) !== JSON.stringify(formOf(base)),
    clash: newer === undefined ? null : clashWith(newer),
  };

  function clashWith(row: Row): Clash<Form> {
    const theirs = formOf(row);
    const mine = rebased(formOf(base), form, theirs);
    const fill = (fields: Form) => {
      rebase(row);
      setForm(fields);
    };
    return {
      opened: formOf(base),
      mine,
      theirs,
      version: row.version,
      keepMine: () => fill(mine),
      takeTheirs: () => fill(theirs),
    };
  }
}
