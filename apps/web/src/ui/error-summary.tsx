import { useEffect, useRef } from "react";
import { fieldId } from "./field-id.ts";
import { Notice } from "./notice.tsx";

/** One line of the summary: the pointer leads to the field of that id, if there is one. */
export interface SummaryLine {
  pointer: string;
  detail: string;
  rule?: string | undefined;
}

/**
 * Everything that is wrong with a form, above it. It takes the focus whenever it changes, so that nobody has to
 * hunt for the field.
 */
export function ErrorSummary({
  title,
  lines,
  nameOf,
}: {
  title: string;
  lines: readonly SummaryLine[];
  /** A field's name for people, by its pointer; "" says the detail alone. */
  nameOf?: (pointer: string) => string;
}) {
  const summary = useRef<HTMLDivElement>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: new lines or a new title are what moves the focus.
  useEffect(() => {
    summary.current?.focus();
  }, [title, lines]);
  return (
    <div ref={summary} tabIndex={-1} role="alert">
      <Notice tone="bad" title={title}>
        {lines.length === 0 ? null : (
          <ul>
            {lines.map((line) => {
              const name = nameOf?.(line.pointer) ?? "";
              return (
                <li key={`${line.pointer} ${line.detail}`}>
                  {name === "" ? null : (
                    <>
                      <a
                        href={`#${fieldId(line.pointer)}`}
                        onClick={(event) => {
                          const field = document.getElementById(fieldId(line.pointer));
                          event.preventDefault();
                          field?.focus();
                        }}
                      >
                        {name}
                      </a>
                      {": "}
                    </>
                  )}
                  {line.detail}
                  {line.rule === undefined ? null : <span className="quiet"> ({line.rule})</span>}
                </li>
              );
            })}
          </ul>
        )}
      </Notice>
    </div>
  );
}
