const longest = 120;

/**
 * A file's name as it is kept and shown: without folders, control characters and marks that turn the direction of
 * writing, at most 120 characters, its ending kept.
 *
 * @param name as the sender gave it
 * @returns never empty: "file" where nothing is left
 * @example cleanFileName("C:\\bench\\run 1.csv") // "run 1.csv"
 */
export function cleanFileName(name: string): string {
  const last = name.toWellFormed().normalize("NFC").split(/[/\\]/).at(-1) ?? "";
  const clean = last
    .replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/gu, "")
    .replace(/\s+/g, " ")
    .replace(/^[. ]+|[. ]+$/g, "");
  if (clean === "") return "file";
  const characters = [...clean];
  if (characters.length <= longest) return clean;
  const ending = /\.[A-Za-z0-9]{1,8}$/.exec(clean)?.[0] ?? "";
  return characters.slice(0, longest - ending.length).join("") + ending;
}
