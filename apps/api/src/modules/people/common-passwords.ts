import { dictionary } from "@zxcvbn-ts/language-common";

/** Some 49,000 passwords of published leaks, the most frequent first. @source zxcvbn-ts, language-common */
const leaked = new Set<string>(dictionary["passwords-common"] as readonly string[]);

/**
 * Words of the trade and the calendar beside them; compared with a password's letters alone, so that "K1lowatt2026!" is
 * found as "kilowatt".
 */
const words = new Set([
  "password",
  "passwort",
  "welcome",
  "letmein",
  "qwerty",
  "qwertyuiop",
  "asdfghjkl",
  "iloveyou",
  "administrator",
  "admin",
  "football",
  "baseball",
  "basketball",
  "superman",
  "batman",
  "dragon",
  "monkey",
  "sunshine",
  "princess",
  "master",
  "shadow",
  "michael",
  "jennifer",
  "trustno",
  "starwars",
  "whatever",
  "freedom",
  "computer",
  "internet",
  "changeme",
  "secret",
  "default",
  "abcdefghij",
  "meter",
  "meters",
  "meterman",
  "metershop",
  "electric",
  "electricity",
  "utility",
  "sealbook",
  "kilowatt",
  "kilowatthour",
  "spring",
  "summer",
  "autumn",
  "winter",
]);

const lookalikes: Record<string, string> = {
  "0": "o",
  "1": "i",
  "3": "e",
  "4": "a",
  "5": "s",
  "7": "t",
  "@": "a",
  $: "s",
  "!": "i",
};

/** Whether a password is one of those that an attacker tries first, or little more than the person's own name. */
export function isCommonPassword(password: string, username: string): boolean {
  const lower = password.toLowerCase();
  const plain = lower.replace(/[^a-z]/g, "");
  const folded = [...lower]
    .map((character) => lookalikes[character] ?? character)
    .join("")
    .replace(/[^a-z]/g, "");
  if (leaked.has(lower) || new Set(lower).size < 4) return true;
  if (/^\d+$/.test(lower) && lower.length < 16) return true;
  const name = username.replace(/[^a-z]/g, "");
  return [plain, folded].some(
    (letters) =>
      words.has(letters) ||
      (letters.length > 3 && leaked.has(letters)) ||
      (name.length > 2 && letters === name) ||
      words.has(letters.replace(/(.+)\1$/, "$1")),
  );
}
