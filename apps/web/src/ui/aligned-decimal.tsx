import "./aligned-decimal.css";

/**
 * A decimal exactly as it stands, set so that a column of them lines up on the decimal point: the places that it
 * lacks are kept free, not filled with zeros that nobody wrote.
 */
export function AlignedDecimal({
  text,
  places,
}: {
  text: string;
  /** Places that the longest figure of the column has. */
  places: number;
}) {
  const written = text.split(".")[1]?.length ?? 0;
  const missing = Math.max(0, places - written);
  if (missing === 0) return <>{text}</>;
  return (
    <>
      {text}
      <span className="aligned-decimal-room" aria-hidden="true">
        {written === 0 ? "." : ""}
        {"0".repeat(missing)}
      </span>
    </>
  );
}
