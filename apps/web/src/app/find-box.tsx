import { findMeter } from "@sealbook/contract/meters";
import { useMutation } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useRef, useState } from "react";
import { call } from "../api/call.ts";
import { paths } from "../paths.ts";
import { KeyHint } from "../ui/key-hint.tsx";
import { TextField } from "../ui/text-field.tsx";
import { useHotkey } from "../ui/use-hotkey.ts";

/**
 * Finds a meter from anywhere: typed, or read by a scanner that types and presses Enter. Exactly one meter opens;
 * none or several lead to the list.
 */
export function FindBox() {
  const [number, setNumber] = useState("");
  const input = useRef<HTMLInputElement>(null);
  const navigate = useNavigate();
  useHotkey("/", () => {
    input.current?.focus();
    input.current?.select();
  });
  const finding = useMutation({
    mutationFn: (wanted: string) => call(findMeter, { query: { number: wanted } }),
    onSuccess: ({ rows }, wanted) => {
      const only = rows.length === 1 ? rows[0] : undefined;
      setNumber("");
      if (only !== undefined) void navigate({ to: paths.meter(only.id) });
      else void navigate({ to: paths.meters(), search: { q: wanted } });
    },
  });
  const submit = (event: FormEvent) => {
    event.preventDefault();
    const wanted = number.trim();
    if (wanted !== "") finding.mutate(wanted);
  };
  return (
    <search className="shell-find">
      <form onSubmit={submit}>
        <TextField
          label="Find a meter by number or serial"
          hideLabel
          placeholder="Meter number or serial"
          value={number}
          onChange={setNumber}
          inputRef={input}
          error={finding.error?.message}
          maxLength={80}
          onKeyDown={(event) => {
            // The focus stays here after a find, ready for the next scan; the key that leads here is no number.
            if (event.key === "/" && number === "") event.preventDefault();
          }}
        />
        {number === "" && finding.error === null ? <KeyHint keys="/" /> : null}
      </form>
    </search>
  );
}
