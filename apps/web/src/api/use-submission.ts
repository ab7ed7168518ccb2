import type { Operation } from "@sealbook/contract/operation";
import { sentenceOfIssue } from "@sealbook/contract/sentence-of-issue";
import { useMutation, useQueryClient } from "@tanstack/react-query";
import { useEffect, useState } from "react";
import type { z } from "zod";
import { fieldId } from "../ui/field-id.ts";
import { type CallInput, type CallReply, call } from "./call.ts";
import { areaKey } from "./operation-options.ts";
import { ProblemError } from "./problem-error.ts";

/** Something wrong with a form, and where: a JSON pointer into the body ("/points/0/counts"), "" for the whole. */
export interface PlacedError {
  pointer: string;
  detail: string;
  /** The rule that refuses, with its citation. */
  rule?: string | undefined;
}

/** The state of sending a form: nothing typed is ever cleared by it. */
export interface Submission<O extends Operation> {
  /** Checks the body by the contract and sends it; the reply, or null if it was refused. */
  submit(input: CallInput<O>): Promise<CallReply<O> | null>;
  pending: boolean;
  /** The service's refusal, null while there is none. */
  problem: ProblemError | null;
  /** Every error with its place, from the contract's check here or from the service. */
  errors: readonly PlacedError[];
  /** The sentence to show at a field, until what stands in it is changed. */
  errorAt(pointer: string): string | undefined;
  /** Whether a field was changed since it was refused, so that the refusal says nothing about it any more. */
  isSettled(pointer: string): boolean;
  /** Places errors that a screen found itself, such as text that is no date. */
  refuse(errors: readonly PlacedError[]): void;
  clear(): void;
}

/**
 * Sends a form to an operation. The contract's shape checks it first, so that most mistakes are named without a
 * round trip; the areas named are asked again after a success.
 *
 * @param options.touches  areas whose cached replies the change makes stale, such as ["meters", "workItems"];
 *                         the operation's own area is always among them
 */
export function useSubmission<O extends Operation>(
  operation: O,
  options: { touches?: readonly string[] } = {},
): Submission<O> {
  const queryClient = useQueryClient();
  const [errors, setErrors] = useState<readonly PlacedError[]>([]);
  const [settled, setSettled] = useState<ReadonlySet<string>>(nothingSettled);
  useEffect(() => {
    setSettled(nothingSettled);
    if (errors.length === 0) return;
    const settle = ({ target }: Event) => {
      if (!(target instanceof HTMLElement)) return;
      const ids = idsChangedWith(target);
      setSettled((now) => (ids.every((id) => now.has(id)) ? now : new Set([...now, ...ids])));
    };
    document.addEventListener("input", settle);
    return () => document.removeEventListener("input", settle);
  }, [errors]);
  const isSettled = (pointer: string) => settled.has(fieldId(pointer));
  const mutation = useMutation<CallReply<O>, Error, CallInput<O>>({
    mutationFn: (input) => call(operation, input),
    onSuccess: () => {
      const ownArea = operation.id.split(".")[0] ?? operation.id;
      for (const area of [ownArea, "ledger", ...(options.touches ?? [])]) {
        void queryClient.invalidateQueries({ queryKey: areaKey(area) });
      }
    },
  });
  return {
    pending: mutation.isPending,
    problem: mutation.error instanceof ProblemError ? mutation.error : null,
    errors,
    errorAt: (pointer) =>
      isSettled(pointer) ? undefined : errors.find((error) => error.pointer === pointer)?.detail,
    isSettled,
    refuse(found) {
      mutation.reset();
      setErrors(found);
    },
    clear() {
      mutation.reset();
      setErrors([]);
    },
    async submit(input) {
      const found = errorsInBody(operation, input);
      setErrors(found);
      if (found.length > 0) {
        mutation.reset();
        return null;
      }
      try {
        return await mutation.mutateAsync(input);
      } catch (error) {
        if (!(error instanceof ProblemError)) throw error;
        setErrors(error.errors);
        return null;
      }
    },
  };
}

const nothingSettled: ReadonlySet<string> = new Set();

/** Ids of the fields that a change in a control answers: of a group of ticks or choices the first carries the id. */
function idsChangedWith(control: HTMLElement): string[] {
  const isChoice = control instanceof HTMLInputElement && ["checkbox", "radio"].includes(control.type);
  const group = isChoice ? control.closest("fieldset") : null;
  const others = group?.querySelectorAll("input[type=checkbox][id], input[type=radio][id]") ?? [];
  return [control.id, ...Array.from(others, ({ id }) => id)].filter((id) => id !== "");
}

function errorsInBody(operation: Operation, input: object): PlacedError[] {
  if (operation.body === undefined) return [];
  const body = "body" in input ? input.body : undefined;
  const read = (operation.body as z.ZodType).safeParse(body);
  if (read.success) return [];
  const found = new Map<string, PlacedError>();
  for (const issue of read.error.issues) {
    const pointer = issue.path.map((part) => `/${String(part)}`).join("");
    // One sentence a field, and what is blank is needed before it can be malformed.
    if (found.has(pointer)) continue;
    const isBlank = valueAt(body, issue.path) === "";
    found.set(pointer, { pointer, detail: isBlank ? blankField(issue) : sentenceOfIssue(issue) });
  }
  return [...found.values()];
}

function valueAt(body: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>(
    (value, key) =>
      typeof value === "object" && value !== null ? (value as Record<PropertyKey, unknown>)[key] : undefined,
    body,
  );
}

/** A choice that was not made keeps its own words; text that was not written is needed. */
function blankField(issue: z.core.$ZodIssue): string {
  return issue.code === "invalid_format" && issue.format === "regex"
    ? "This is needed."
    : sentenceOfIssue(issue);
}
