import {
  type DrawList,
  drawFromList,
  getCandidates,
  type Lot,
  listCandidates,
  seedSourceNames,
} from "@sealbook/contract/sampling";
import { Link } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { Button } from "../../ui/button.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { LocalInstant } from "../local-instant.tsx";
import { PersonName } from "../person-name.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { LotStep } from "./lot-step.tsx";
import { RepeatDraw } from "./repeat-draw.tsx";
import { newSeedDraft, seedTermsOf } from "./seed-terms.ts";
import { SeedTermsFields } from "./seed-terms-fields.tsx";
import { useRefreshOnClash } from "./use-refresh-on-clash.ts";

const listNames = {
  "/seed/source": "Where the seed will come from",
  "/seed/announcement": "The number, named beforehand",
  "/seed/notBefore": "Not before",
  "/repeats/reason": "Reason",
};

/** The candidate list, published before the seed exists, and the draw from it. */
export function DrawStep({ lot, number }: { lot: Lot; number: number }) {
  const mayRun = useMay("sampling.run");
  const [isRepeating, setIsRepeating] = useState(false);
  const last = lot.lists.at(-1);
  const mayRepeat = mayRun && last !== undefined && (lot.state === "listed" || lot.state === "drawn");
  return (
    <LotStep
      number={number}
      title="Candidate list and draw"
      isAhead={lot.plan === null}
      actions={
        mayRepeat && !isRepeating ? (
          <Button kind="quiet" onClick={() => setIsRepeating(true)}>
            Draw again, with a reason
          </Button>
        ) : undefined
      }
    >
      {lot.plan === null ? (
        <Empty title="The list is published once the plan stands." />
      ) : (
        <>
          {lot.lists.map((list) => (
            <ListPart
              key={list.id}
              lot={lot}
              list={list}
              isLast={list === last}
              mayDraw={mayRun && lot.state === "listed"}
            />
          ))}
          {last === undefined && lot.state === "planned" ? (
            mayRun ? (
              <ListForm lot={lot} repeated={null} onDone={() => undefined} />
            ) : (
              <Empty title="No list yet. A quality engineer or a supervisor publishes it." />
            )
          ) : null}
          {isRepeating && last !== undefined ? (
            <ListForm lot={lot} repeated={last} onDone={() => setIsRepeating(false)} />
          ) : null}
        </>
      )}
    </LotStep>
  );
}

function ListPart({
  lot,
  list,
  isLast,
  mayDraw,
}: {
  lot: Lot;
  list: DrawList;
  isLast: boolean;
  mayDraw: boolean;
}) {
  const { draw } = list;
  return (
    <div className="stack-tight">
      {list.ordinal === 1 && isLast ? null : (
        <h3>{isLast ? `List ${list.ordinal}` : `List ${list.ordinal}, superseded and kept`}</h3>
      )}
      {list.repeatReason === null ? null : <p>Repeated because: {list.repeatReason}</p>}
      <DefinitionList
        items={[
          { term: "Candidates", value: list.candidates },
          { term: "Sample and spares", value: `${list.n} and ${list.spares}` },
          {
            term: "Published",
            value: (
              <>
                <LocalInstant instant={list.listedAt} /> <PersonName person={list.listedBy} />
              </>
            ),
          },
          { term: "Seed", value: seedSourceNames[list.seed.source] },
          ...(list.seed.announcement === null
            ? []
            : [{ term: "Named beforehand", value: list.seed.announcement }]),
          ...(list.seed.notBefore === null
            ? []
            : [{ term: "Not before", value: <LocalInstant instant={list.seed.notBefore} /> }]),
        ]}
      />
      <p>
        SHA-256 of the list: <code className="lot-hash">{list.listHash}</code>, in the ledger since{" "}
        <Link to={paths.ledgerEntry(list.entryId)}>its entry</Link>.{" "}
        <a href={operationUrl(getCandidates, { id: list.id })} download>
          The list, one number a line
        </a>
      </p>
      {draw === null ? (
        isLast && mayDraw ? (
          <DrawForm list={list} />
        ) : (
          <p className="quiet">{isLast ? "Not drawn yet." : "It was never drawn from."}</p>
        )
      ) : (
        <>
          <DefinitionList
            items={[
              { term: "Seed as used", value: <code className="lot-hash">{draw.seed}</code> },
              {
                term: "Rules of the draw",
                value: <Link to={paths.drawRules()}>{draw.algorithm}</Link>,
              },
              {
                term: "Drawn",
                value: (
                  <>
                    <LocalInstant instant={draw.drawnAt} /> <PersonName person={draw.drawnBy} />
                  </>
                ),
              },
              { term: "Ledger", value: <Link to={paths.ledgerEntry(draw.entryId)}>entry of the draw</Link> },
            ]}
          />
          <p className="quiet small">
            Key: <code className="lot-hash">{draw.key}</code>. List and seed give the same sample to anybody
            who follows the rules <Link to={paths.drawRules()}>{draw.algorithm}</Link>.
          </p>
          <RepeatDraw lot={lot} list={list} draw={draw} isLast={isLast} />
        </>
      )}
    </div>
  );
}

function ListForm({ lot, repeated, onDone }: { lot: Lot; repeated: DrawList | null; onDone: () => void }) {
  const { timeZone } = useShop();
  const [id] = useState(newId);
  const [draft, setDraft] = useState(newSeedDraft);
  const [reason, setReason] = useState("");
  const submission = useSubmission(listCandidates);
  useRefreshOnClash(submission.problem);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const seed = seedTermsOf(draft, timeZone);
    if ("error" in seed) {
      submission.refuse([seed.error]);
      return;
    }
    const reply = await submission.submit({
      params: { id: lot.id },
      body: {
        id,
        seed: seed.terms,
        repeats: repeated === null ? null : { id: repeated.id, reason: reason.trim() },
      },
    });
    if (reply !== null) onDone();
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={listNames} />
      <p>
        {repeated === null
          ? "Publishing puts the list's hash into the ledger before the seed exists, so that nobody can fit one to the other. There is one draw per list."
          : "The first list and its draw stay on record beside the second, with your reason."}
      </p>
      <SeedTermsFields
        draft={draft}
        onChange={(changes) => setDraft((now) => ({ ...now, ...changes }))}
        errorAt={submission.errorAt}
      />
      {repeated === null ? null : (
        <TextArea
          label="Reason"
          hint="Why the lot is listed and drawn again"
          id={fieldId("/repeats/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/repeats/reason")}
          rows={2}
          maxLength={500}
        />
      )}
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Publishing" : "Publish the list"}
        </Button>
        {repeated === null ? null : <Button onClick={onDone}>Cancel</Button>}
      </div>
    </form>
  );
}

const seedHints: Record<Exclude<DrawList["seed"]["source"], "system">, string> = {
  "typed-dice": "Throw 20 times or more; type the throws as they fell, such as 4 2 6 6 1 3 5 2.",
  "announced-number": "The number exactly as it was published",
};

function DrawForm({ list }: { list: DrawList }) {
  const [id] = useState(newId);
  const [seed, setSeed] = useState("");
  const submission = useSubmission(drawFromList, { touches: ["workItems", "meters"] });
  useRefreshOnClash(submission.problem);
  const { source } = list.seed;
  const save = (event: FormEvent) => {
    event.preventDefault();
    if (source !== "system" && seed.trim() === "") {
      submission.refuse([{ pointer: "/seed", detail: "Type the seed." }]);
      return;
    }
    void submission.submit({
      params: { id: list.id },
      body: { id, seed: source === "system" ? null : seed.trim() },
    });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/seed": "Seed" }} />
      {source === "system" ? (
        <p>The service takes the seed from the operating system when you draw, and writes it down.</p>
      ) : (
        <div className="row-fields">
          <TextField
            label="Seed"
            hint={seedHints[source]}
            id={fieldId("/seed")}
            value={seed}
            onChange={setSeed}
            error={submission.errorAt("/seed")}
            maxLength={300}
          />
        </div>
      )}
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Drawing" : `Draw ${list.n}`}
        </Button>
      </div>
    </form>
  );
}
