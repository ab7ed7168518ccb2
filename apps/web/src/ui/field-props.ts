import type { ReactNode, Ref } from "react";

/** What every field takes. Text in, text out: a field never turns what was typed into something else. */
export interface FieldProps {
  label: string;
  /** What to write, where the label does not say. */
  hint?: ReactNode;
  /** The sentence about what is wrong; it stands at the field and marks it. */
  error?: string | undefined;
  /** Says "optional" beside the label. */
  optional?: boolean;
  /** Hides the label from sight, where a table's heading says it. */
  hideLabel?: boolean;
  isDisabled?: boolean;
  /** Id of the input, so that a summary of errors can lead to it: `fieldId(pointer)`. */
  id?: string | undefined;
}

/** What a field of text takes besides. */
export interface TextFieldProps extends FieldProps {
  value: string;
  onChange: (value: string) => void;
  placeholder?: string;
  autoComplete?: string;
  autoFocus?: boolean;
  maxLength?: number;
  onBlur?: () => void;
  onKeyDown?: (event: React.KeyboardEvent<HTMLInputElement>) => void;
  inputRef?: Ref<HTMLInputElement>;
}
