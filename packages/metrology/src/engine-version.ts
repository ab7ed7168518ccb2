/**
 * Version of the arithmetic that judges a test; every record keeps the one it was judged by. It counts up when a
 * change can alter a figure or a verdict of the same entry.
 */
export const engineVersion = "1";
