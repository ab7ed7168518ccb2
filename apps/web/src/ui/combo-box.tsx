import "./combo-box.css";
import "./field.css";
import {
  ComboBox as AriaComboBox,
  FieldError,
  Input,
  Label,
  ListBox,
  ListBoxItem,
  Popover,
  Text,
} from "react-aria-components/ComboBox";
import type { FieldProps } from "./field-props.ts";

export interface ComboBoxOption {
  value: string;
  label: string;
  /** A second, quieter line. */
  note?: string;
}

/** One of a long list, found by typing any part of it. */
export function ComboBox({
  label,
  hint,
  error,
  optional = false,
  hideLabel = false,
  isDisabled = false,
  id,
  value,
  onChange,
  options,
  autoFocus,
  onInput,
}: FieldProps & {
  /** "" is nothing chosen. */
  value: string;
  onChange: (value: string) => void;
  options: readonly ComboBoxOption[];
  autoFocus?: boolean;
  /** Hears what is typed, where the options come from the service; they are then offered as they come. */
  onInput?: (text: string) => void;
}) {
  return (
    <AriaComboBox
      className="combo-box"
      value={value === "" ? null : value}
      onChange={(key) => onChange(key === null ? "" : String(key))}
      isInvalid={error !== undefined}
      isDisabled={isDisabled}
      validationBehavior="aria"
      menuTrigger="focus"
      allowsEmptyCollection
      {...(autoFocus === undefined ? {} : { autoFocus })}
      {...(onInput === undefined ? { defaultItems: options } : { items: options, onInputChange: onInput })}
    >
      <Label className={hideLabel ? "visually-hidden" : "field-label"}>
        {label}
        {optional ? <span className="field-optional"> (optional)</span> : null}
      </Label>
      <Input className="field-input" spellCheck={false} {...(id === undefined ? {} : { id })} />
      {hint === undefined ? null : (
        <Text slot="description" className="field-hint">
          {hint}
        </Text>
      )}
      <FieldError className="field-error">{error}</FieldError>
      <Popover className="combo-box-popover" offset={2}>
        <ListBox
          className="list-box"
          renderEmptyState={() => <div className="list-box-empty">Nothing matches.</div>}
        >
          {(option: ComboBoxOption) => (
            <ListBoxItem id={option.value} textValue={option.label} className="list-box-item">
              <Text slot="label">{option.label}</Text>
              {option.note === undefined ? null : (
                <Text slot="description" className="quiet small">
                  {option.note}
                </Text>
              )}
            </ListBoxItem>
          )}
        </ListBox>
      </Popover>
    </AriaComboBox>
  );
}
