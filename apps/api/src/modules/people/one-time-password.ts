import { randomInt } from "node:crypto";

// Without letters and digits that are read as one another.
const characters = "abcdefghjkmnpqrstuvwxyz23456789";
const groups = 4;
const groupLength = 4;

/**
 * A password to be read aloud or copied by hand, and used once: four groups of four, 79 bits of chance.
 *
 * @example "k7wp-3hxm-q2nd-v9ta"
 */
export function newOneTimePassword(): string {
  const group = () =>
    Array.from({ length: groupLength }, () => characters[randomInt(characters.length)]).join("");
  return Array.from({ length: groups }, group).join("-");
}
