import { createToken } from "@sealbook/contract/people";
import { type TokenScope, tokenScopeNames, tokenScopes } from "@sealbook/contract/token-scopes";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { ShownOnce } from "./shown-once.tsx";

const names = {
  "/name": "What it is for",
  "/scopes": "What it opens",
  "/days": "Ends after",
  "/ownPassword": "Your password",
};
const terms = { "30": "30 days", "90": "90 days", "180": "180 days", "365": "a year" } as const;

/** Makes an API token; its secret is shown here and nowhere else. */
export function NewTokenDialog({ onDone }: { onDone: () => void }) {
  const [id] = useState(newId);
  const [name, setName] = useState("");
  const [scopes, setScopes] = useState<readonly TokenScope[]>([]);
  const [days, setDays] = useState<keyof typeof terms | "">("90");
  const [password, setPassword] = useState("");
  const [secret, setSecret] = useState<string | null>(null);
  const submission = useSubmission(createToken);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: { id, name: name.trim(), scopes: [...scopes], days: Number(days), ownPassword: password },
    });
    if (reply !== null) setSecret(reply.secret);
  };
  if (secret !== null) {
    return (
      <ShownOnce title={`Token for ${name.trim()}`} secret={secret} onDone={onDone}>
        <p>
          Put it where the bench or the script reads it, as <code>Authorization: Bearer</code> and the token.
          Whoever has it comes in as you: treat it like a password.
        </p>
      </ShownOnce>
    );
  }
  return (
    <Dialog title="Make an API token" onClose={onDone}>
      <form className="stack" onSubmit={save}>
        <SubmissionSummary submission={submission} names={names} />
        <TextField
          label="What it is for"
          hint="Such as the bench’s name"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          maxLength={80}
          autoFocus
        />
        <fieldset className="field">
          <legend className="field-label">What it opens</legend>
          {tokenScopes.map((scope, index) => (
            <Checkbox
              key={scope}
              isSelected={scopes.includes(scope)}
              onChange={(isOn) =>
                setScopes(isOn ? [...scopes, scope] : scopes.filter((one) => one !== scope))
              }
              {...(index === 0 ? { id: fieldId("/scopes"), error: submission.errorAt("/scopes") } : {})}
            >
              {tokenScopeNames[scope]}
            </Checkbox>
          ))}
        </fieldset>
        <Select
          label="Ends after"
          id={fieldId("/days")}
          value={days}
          onChange={setDays}
          options={(Object.keys(terms) as (keyof typeof terms)[])
            .sort((a, b) => Number(a) - Number(b))
            .map((value) => ({ value, label: terms[value] }))}
          error={submission.errorAt("/days")}
        />
        <TextField
          label="Your password"
          hint="Confirms that it is you"
          type="password"
          autoComplete="current-password"
          id={fieldId("/ownPassword")}
          value={password}
          onChange={setPassword}
          error={submission.errorAt("/ownPassword")}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Make the token
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
