import { getConsistencyProof, type LogHead } from "@sealbook/contract/ledger";
import { useMutation } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { call } from "../../api/call.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { holdAgainst, readKeptHead } from "./hold-against.ts";

/** Holds a head that somebody kept against the newest one; signature and proof are checked in this browser. */
export function CompareHead({ newest }: { newest: LogHead }) {
  const [text, setText] = useState("");
  const [error, setError] = useState<string | undefined>(undefined);
  const comparison = useMutation({
    mutationFn: async (note: string) => {
      const kept = readKeptHead(note, newest);
      if (kept.kind === "refused") return kept;
      if (kept.head.size > newest.size) return holdAgainst(kept.head, newest, []);
      const { hashes } = await call(getConsistencyProof, {
        query: { from: kept.head.size, to: newest.size },
      });
      return holdAgainst(kept.head, newest, hashes);
    },
  });
  const compare = (event: FormEvent) => {
    event.preventDefault();
    if (text.trim() === "") {
      setError("Paste the text of the head, with its last line.");
      return;
    }
    setError(undefined);
    comparison.mutate(text);
  };
  const found = comparison.data;
  return (
    <form className="stack" onSubmit={compare}>
      <TextArea
        label="The head that you kept"
        hint="The whole text: name of the log, size, root, an empty line, the signature"
        id={fieldId("/head")}
        value={text}
        onChange={setText}
        error={error}
        rows={6}
        maxLength={4000}
      />
      <div>
        <Button type="submit" isPending={comparison.isPending}>
          Compare
        </Button>
      </div>
      {comparison.error === null ? null : <ProblemNotice error={comparison.error} />}
      {found === undefined ? null : found.kind === "accepted" ? (
        <Notice title="The log has only grown since" isAnnounced>
          <p>
            <StatusMark tone="good">Checked in this browser</StatusMark> The{" "}
            {found.size.toLocaleString("en-US")} entries under your head are the first{" "}
            {found.size.toLocaleString("en-US")} of today’s {newest.size.toLocaleString("en-US")}, unchanged
            and in the same order.
          </p>
        </Notice>
      ) : (
        <Notice tone="bad" title="This head does not agree" isAnnounced>
          <p>{found.sentence}</p>
        </Notice>
      )}
    </form>
  );
}
