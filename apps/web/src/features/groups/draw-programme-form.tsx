import { drawProgramme, type Programme } from "@sealbook/contract/groups";
import { type FormEvent, useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextField } from "../../ui/text-field.tsx";

/** Draws every published list of a programme with one seed. */
export function DrawProgrammeForm({ programme }: { programme: Programme }) {
  const mayRun = useMay("sampling.run");
  const [seed, setSeed] = useState("");
  const submission = useSubmission(drawProgramme, { touches: ["sampling", "workItems", "meters"] });
  useRefreshOnClash(submission.problem);
  if (!mayRun) return <Empty title="A quality engineer or a supervisor draws once the seed is known." />;
  const save = (event: FormEvent) => {
    event.preventDefault();
    if (seed.trim() === "") {
      submission.refuse([{ pointer: "/seed", detail: "Type the seed." }]);
      return;
    }
    void submission.submit({
      params: { id: programme.id },
      version: programme.version,
      body: { seed: seed.trim() },
    });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/seed": "Seed" }} />
      <p>
        All lists are published and their hashes are in the ledger. One seed draws them all: each list's own
        hash makes its draw its own.
      </p>
      <div className="row-fields">
        <TextField
          label="Seed"
          hint={
            programme.seed.source === "typed-dice"
              ? "Throw 20 times or more; type the throws as they fell, such as 4 2 6 6 1 3 5 2"
              : "The number exactly as it was published"
          }
          id={fieldId("/seed")}
          value={seed}
          onChange={setSeed}
          error={submission.errorAt("/seed")}
          maxLength={300}
        />
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Drawing" : "Draw all lists"}
        </Button>
      </div>
    </form>
  );
}
