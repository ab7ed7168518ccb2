import "./button.css";
import type { ComponentProps, MouseEvent } from "react";

export interface ButtonProps extends Omit<ComponentProps<"button">, "className"> {
  /** "primary" for the one step that the screen is for, "danger" for what cannot be undone. */
  kind?: "primary" | "plain" | "quiet" | "danger";
  /** While work is under way the button keeps the focus and does nothing. */
  isPending?: boolean;
}

/** A button; of type "button" unless it says "submit". */
export function Button({
  kind = "plain",
  isPending = false,
  onClick,
  type = "button",
  ...props
}: ButtonProps) {
  const handleClick = (event: MouseEvent<HTMLButtonElement>) => {
    if (isPending) event.preventDefault();
    else onClick?.(event);
  };
  return (
    <button
      {...props}
      type={type}
      className={`button button-${kind}`}
      aria-disabled={isPending || undefined}
      onClick={handleClick}
    />
  );
}
