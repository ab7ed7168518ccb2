import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";

/** Says that a draft came back after a reload, and offers to begin again. */
export function RestoredNote({ onStartAfresh }: { onStartAfresh: () => void }) {
  return (
    <Notice title="What was typed before the page was reloaded stands here again">
      <div className="row">
        <span>Remarks, notes, photos and the PIN were not kept.</span>
        <Button onClick={onStartAfresh}>Start afresh</Button>
      </div>
    </Notice>
  );
}
