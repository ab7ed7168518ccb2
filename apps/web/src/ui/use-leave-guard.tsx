import { useBlocker } from "@tanstack/react-router";
import { type ReactNode, useRef } from "react";
import { Button } from "./button.tsx";
import { Dialog } from "./dialog.tsx";

/**
 * Asks before a form with unsaved work is left, by a link or by closing the tab.
 *
 * @returns the dialog to render in the page, and `release`, called before leaving after a save
 */
export function useLeaveGuard(isDirty: boolean): { leaveDialog: ReactNode; release: () => void } {
  const released = useRef(false);
  const blocker = useBlocker({
    shouldBlockFn: () => isDirty && !released.current,
    enableBeforeUnload: () => isDirty && !released.current,
    withResolver: true,
  });
  const leaveDialog =
    blocker.status === "blocked" ? (
      <Dialog
        title="Leave without saving?"
        onClose={blocker.reset}
        buttons={
          <>
            <Button kind="primary" onClick={blocker.reset}>
              Stay here
            </Button>
            <Button kind="danger" onClick={blocker.proceed}>
              Leave, drop what I typed
            </Button>
          </>
        }
      >
        <p>What you typed on this page has not been saved.</p>
      </Dialog>
    ) : null;
  return {
    leaveDialog,
    release: () => {
      released.current = true;
    },
  };
}
