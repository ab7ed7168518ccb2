import "./dialog.css";
import { type ReactNode, useEffect, useId, useRef } from "react";

/**
 * A question or a small form over the page, which stays as it is underneath. Built on the browser's own modal
 * dialog: the focus stays inside, Escape closes, and the focus goes back to where it was.
 */
export function Dialog({
  title,
  onClose,
  children,
  buttons,
  isWide = false,
  mayDismiss = true,
}: {
  title: string;
  /** Called when the person leaves by Escape; the caller stops rendering the dialog. */
  onClose: () => void;
  children?: ReactNode;
  /** The row of buttons at the end; the safest first. */
  buttons?: ReactNode;
  isWide?: boolean;
  /** False where the question must be answered. */
  mayDismiss?: boolean;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const titleId = useId();
  useEffect(() => {
    const element = dialog.current;
    if (element === null) return;
    if (!element.open) element.showModal();
    return () => {
      element.close();
      // Where the focus was may be gone by now; then it goes to what stands on the page about it.
      if (document.activeElement === document.body) {
        document.querySelector<HTMLElement>("main [role=alert][tabindex], main")?.focus();
      }
    };
  }, []);
  return (
    <dialog
      ref={dialog}
      className={isWide ? "dialog dialog-wide" : "dialog"}
      aria-labelledby={titleId}
      onCancel={(event) => {
        event.preventDefault();
        if (mayDismiss) onClose();
      }}
    >
      <div className="dialog-body">
        <h2 id={titleId}>{title}</h2>
        {children}
        {buttons === undefined ? null : <div className="dialog-buttons">{buttons}</div>}
      </div>
    </dialog>
  );
}
