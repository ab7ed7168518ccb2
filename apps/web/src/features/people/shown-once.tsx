import "./shown-once.css";
import { type ReactNode, useState } from "react";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Notice } from "../../ui/notice.tsx";

/** A secret that is shown once: it is in no record, and closing this is the end of it. */
export function ShownOnce({
  title,
  secret,
  children,
  onDone,
}: {
  title: string;
  secret: string;
  children: ReactNode;
  onDone: () => void;
}) {
  const [isCopied, setCopied] = useState(false);
  const copy = async () => {
    // A browser gives the clipboard to pages over HTTPS and on this machine only; else the text is copied by hand.
    await navigator.clipboard?.writeText(secret).then(
      () => setCopied(true),
      () => undefined,
    );
  };
  return (
    <Dialog
      title={title}
      onClose={() => undefined}
      mayDismiss={false}
      buttons={
        <>
          <Button onClick={() => void copy()}>Copy</Button>
          <Button kind="primary" onClick={onDone}>
            I have kept it
          </Button>
        </>
      }
    >
      <Notice tone="warn" title="This is shown once">
        <p>
          <code className="people-secret">{secret}</code>
        </p>
      </Notice>
      {children}
      <p aria-live="polite">{isCopied ? "Copied." : ""}</p>
    </Dialog>
  );
}
