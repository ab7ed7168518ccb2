import { Link } from "@tanstack/react-router";
import { useAccount } from "../../api/use-account.ts";
import { paths } from "../../paths.ts";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { KeyHint } from "../../ui/key-hint.tsx";
import { Notice } from "../../ui/notice.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** The signature: one's PIN and save, or save now and sign later with the tray. */
export function SignFields({
  pin,
  onPin,
  error,
  pending,
  isWithdrawal = false,
  onSave,
}: {
  pin: string;
  onPin: (pin: string) => void;
  error: string | undefined;
  pending: boolean;
  /** Whether what is signed withdraws a test. */
  isWithdrawal?: boolean;
  onSave: (isSigned: boolean) => void;
}) {
  const { hasPin, name } = useAccount();
  return (
    <div className="stack-tight">
      {hasPin ? null : (
        <Notice tone="warn">
          <p>
            You have no signing PIN yet. Save now and sign later; set one under{" "}
            <Link to={paths.account()}>your name</Link>.
          </p>
        </Notice>
      )}
      <div className="sign-row">
        <div data-stop="open">
          <TextField
            label={`PIN of ${name}`}
            type="password"
            inputMode="numeric"
            autoComplete="off"
            id={fieldId("/signature/pin")}
            value={pin}
            onChange={(text) => onPin(text.trim())}
            maxLength={8}
            error={error}
            isDisabled={!hasPin}
            onKeyDown={(event) => {
              if (event.key !== "Enter" || event.ctrlKey || pin === "") return;
              event.preventDefault();
              onSave(true);
            }}
          />
        </div>
        <div className="row">
          <Button kind="primary" isPending={pending} onClick={() => onSave(true)} disabled={!hasPin}>
            {pending ? "Saving" : isWithdrawal ? "Sign the withdrawal and save" : "Sign and save"}{" "}
            <KeyHint keys="Ctrl+Enter" />
          </Button>
          <Button isPending={pending} onClick={() => onSave(false)}>
            {isWithdrawal ? "Save the withdrawal" : "Save"}, sign later with the tray <KeyHint keys="Alt+S" />
          </Button>
        </div>
      </div>
    </div>
  );
}
