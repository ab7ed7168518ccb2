/** Columns that the service itself adds to a file of rows set aside; they mean nothing when the file comes back. */
export const serviceColumns: readonly string[] = ["_row", "_reasons"];
