/** Id of the field that holds a value of a form: the JSON pointer of that value, made fit for an id. */
export function fieldId(pointer: string): string {
  return `field${pointer.replaceAll("/", "-")}`;
}
