import "./find-box.css";
import { findMeter } from "@sealbook/contract/meters";
import { searchBook } from "@sealbook/contract/search";
import { keepPreviousData, useMutation, useQuery } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, type KeyboardEvent, useId, useRef, useState } from "react";
import { call } from "../api/call.ts";
import { operationOptions } from "../api/operation-options.ts";
import { paths } from "../paths.ts";
import { KeyHint } from "../ui/key-hint.tsx";
import { useDebounced } from "../ui/use-debounced.ts";
import { useHotkey } from "../ui/use-hotkey.ts";
import { type FindGroup, type FindOption, findGroups } from "./find-options.ts";

const label = "Find a meter or a service point by any part of its number, serial or address";

/**
 * Finds anything from anywhere. While somebody types, the book answers; the arrows choose from what it found. A scanner
 * types and presses Enter before that: exactly one meter of the number opens, none or several lead to the list.
 *
 * @source ARIA Authoring Practices, combobox with a list that is chosen from by arrows
 */
export function FindBox() {
  const [typed, setTyped] = useState("");
  const [isOpen, setOpen] = useState(false);
  const [active, setActive] = useState(-1);
  const input = useRef<HTMLInputElement>(null);
  const listId = useId();
  const navigate = useNavigate();
  useHotkey("/", () => {
    input.current?.focus();
    input.current?.select();
  });
  const wanted = useDebounced(typed.trim(), 120);
  const found = useQuery({
    ...operationOptions(searchBook, { query: { q: wanted } }),
    enabled: wanted !== "" && isOpen,
    placeholderData: keepPreviousData,
    staleTime: 10_000,
  });
  const isShown = isOpen && typed.trim() !== "" && found.data !== undefined;
  const groups = isShown && found.data !== undefined ? findGroups(found.data) : [];
  const options = groups.flatMap((group) => group.options);
  const chosen = options[active];

  const close = () => {
    setOpen(false);
    setActive(-1);
  };
  const open = (option: FindOption) => {
    setTyped("");
    close();
    void navigate({ to: option.to, search: option.search ?? {} });
  };
  const finding = useMutation({
    mutationFn: (number: string) => call(findMeter, { query: { number } }),
    onSuccess: ({ rows }, number) => {
      const only = rows.length === 1 ? rows[0] : undefined;
      setTyped("");
      close();
      if (only !== undefined) void navigate({ to: paths.meter(only.id) });
      else void navigate({ to: paths.meters(), search: { q: number } });
    },
  });
  const submit = (event: FormEvent) => {
    event.preventDefault();
    if (chosen !== undefined) open(chosen);
    else if (typed.trim() !== "") finding.mutate(typed.trim());
  };
  const handleKey = (event: KeyboardEvent) => {
    // The focus stays here after a find, ready for the next scan; the key that leads here is no number.
    if (event.key === "/" && typed === "") event.preventDefault();
    if (event.key === "Escape" && isOpen) {
      event.preventDefault();
      close();
    }
    if ((event.key === "ArrowDown" || event.key === "ArrowUp") && options.length > 0) {
      event.preventDefault();
      const step = event.key === "ArrowDown" ? 1 : -1;
      // One place stands for the field itself: before the first and after the last.
      const places = options.length + 1;
      const next = ((active + 1 + step + places) % places) - 1;
      setActive(next);
      document.getElementById(options[next]?.id ?? "")?.scrollIntoView({ block: "nearest" });
    }
  };
  const problem = finding.error ?? found.error;

  return (
    <search className="shell-find">
      <form className="find-box" onSubmit={submit}>
        <label className="visually-hidden" htmlFor="find-box">
          {label}
        </label>
        <input
          ref={input}
          id="find-box"
          className="field-input"
          role="combobox"
          aria-expanded={isShown}
          aria-controls={isShown ? listId : undefined}
          aria-autocomplete="list"
          aria-activedescendant={chosen?.id}
          aria-describedby={problem === null ? undefined : `${listId}-problem`}
          autoComplete="off"
          spellCheck={false}
          placeholder="Number, serial or address"
          maxLength={80}
          value={typed}
          onChange={(event) => {
            setTyped(event.target.value);
            setActive(-1);
            setOpen(true);
          }}
          onKeyDown={handleKey}
          onBlur={close}
        />
        {typed === "" && problem === null ? <KeyHint keys="/" /> : null}
        {problem === null ? null : (
          <p className="field-error" id={`${listId}-problem`} role="alert">
            {problem.message}
          </p>
        )}
        {isShown ? <FoundList id={listId} groups={groups} chosen={chosen} onOpen={open} /> : null}
        <span className="visually-hidden" role="status">
          {isShown ? foundSentence(options.length) : ""}
        </span>
      </form>
    </search>
  );
}

function foundSentence(count: number): string {
  if (count === 0) return "Nothing found.";
  return count === 1
    ? "One found; choose it with the arrow keys."
    : `${count} found; choose with the arrow keys.`;
}

function FoundList({
  id,
  groups,
  chosen,
  onOpen,
}: {
  id: string;
  groups: readonly FindGroup[];
  chosen: FindOption | undefined;
  onOpen: (option: FindOption) => void;
}) {
  if (groups.length === 0) {
    return (
      <div className="find-list" id={id}>
        <div className="find-nothing">
          Nothing found. Three characters or more are found anywhere in a number.
        </div>
      </div>
    );
  }
  return (
    // The focus stays in the field: pressing a line must not take it away first.
    <div
      className="find-list"
      id={id}
      role="listbox"
      aria-label="Found"
      onMouseDown={(event) => event.preventDefault()}
    >
      {groups.map((group) => (
        // biome-ignore lint/a11y/useSemanticElements: a list of choices has groups, and no fieldsets.
        <div key={group.title} role="group" aria-label={group.title}>
          <div className="find-group" aria-hidden="true">
            {group.title}
          </div>
          {group.options.map((option) => (
            // biome-ignore lint/a11y/useKeyWithClickEvents: the field handles the keys and names the active line.
            <div
              key={option.id}
              id={option.id}
              role="option"
              tabIndex={-1}
              aria-selected={option.id === chosen?.id}
              className="find-option"
              onClick={() => onOpen(option)}
            >
              <span className="find-name">{option.name}</span>
              <span className="quiet small">{option.note}</span>
            </div>
          ))}
        </div>
      ))}
    </div>
  );
}
