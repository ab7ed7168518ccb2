/** Says what of the form survives a reload of the page. */
export function DraftNote() {
  return (
    <p className="quiet small">
      Until it is saved, the figures, choices and seals stay on this device and survive a reload. Remarks,
      notes, photos and your PIN do not.
    </p>
  );
}
