/** Ids of the hint and the error under a control, for its aria-describedby; undefined where there is neither. */
export function describedBy(
  id: string,
  { hint, error }: { hint?: unknown; error?: string | undefined },
): string | undefined {
  const ids = [
    ...(hint === undefined ? [] : [`${id}-hint`]),
    ...(error === undefined ? [] : [`${id}-error`]),
  ];
  return ids.length === 0 ? undefined : ids.join(" ");
}
