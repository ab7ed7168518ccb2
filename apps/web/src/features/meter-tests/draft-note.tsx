import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";

/** Says what of the form survives a reload of the page, and what came back after one. */
export function DraftNote({ isRestored, onStartAfresh }: { isRestored: boolean; onStartAfresh: () => void }) {
  if (!isRestored) {
    return (
      <p className="quiet small">
        Until it is saved, the figures, choices and seals stay on this device and survive a reload. Remarks,
        notes, photos and your PIN do not.
      </p>
    );
  }
  return (
    <Notice title="What was typed before the page was reloaded stands here again">
      <div className="row">
        <span>Remarks, notes, photos and the PIN were not kept.</span>
        <Button onClick={onStartAfresh}>Start afresh</Button>
      </div>
    </Notice>
  );
}
