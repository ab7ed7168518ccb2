import { Field } from "./field.tsx";
import type { FieldProps } from "./field-props.ts";

/** Files from the person's machine; on a phone it offers the camera, too. */
export function FileField({
  onChoose,
  accept,
  isMultiple = false,
  ...field
}: FieldProps & {
  /** Hears of the files once chosen; choosing none says nothing. */
  onChoose: (files: readonly File[]) => void;
  /** Media types and endings as the browser wants them: "image/*,.pdf". */
  accept?: string;
  isMultiple?: boolean;
}) {
  return (
    <Field {...field}>
      {(control) => (
        <input
          {...control}
          className="field-file"
          type="file"
          accept={accept}
          multiple={isMultiple}
          onChange={(event) => {
            const files = [...(event.target.files ?? [])];
            if (files.length > 0) onChoose(files);
          }}
        />
      )}
    </Field>
  );
}
