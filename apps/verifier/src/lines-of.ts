/** Lines of a compressed file, read as they are unpacked, so that its size is no matter. */
export async function* linesOf(file: Blob): AsyncGenerator<string> {
  const text = file
    .stream()
    .pipeThrough(new DecompressionStream("gzip"))
    .pipeThrough(new TextDecoderStream());
  const reader = text.getReader();
  let rest = "";
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    const lines = (rest + value).split("\n");
    rest = lines.pop() ?? "";
    yield* lines;
  }
  if (rest !== "") yield rest;
}
