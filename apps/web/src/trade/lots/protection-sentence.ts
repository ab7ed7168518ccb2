import type { LotChance } from "./plan-law.ts";

/**
 * Says in a sentence what a plan does to one lot.
 *
 * @param percent percent nonconforming asked about
 * @param lotSize meters in the lot
 * @param chance what such a lot meets
 * @returns the sentence; probabilities with three decimals, never rounded up to certainty
 */
export function protectionSentence(percent: number, lotSize: number, chance: LotChance): string {
  const count =
    chance.nonconforming === null
      ? ""
      : ` (${chance.nonconforming} of ${lotSize} ${lotSize === 1 ? "meter" : "meters"})`;
  const sentence = `A lot with ${percent} % nonconforming${count} is accepted with probability ${probabilityText(chance.probability)}`;
  if (chance.probabilityOnBothSides === null) return `${sentence}.`;
  const [oneSide, bothSides] = [chance.probability, chance.probabilityOnBothSides].map(probabilityText);
  return oneSide === bothSides
    ? `${sentence}, wherever they lie.`
    : `${sentence} if all lie beyond one limit, ${bothSides} if half lie beyond each.`;
}

/** A probability as people read it: "0.957"; what is not certain never reads as 0 or 1. */
export function probabilityText(probability: number): string {
  if (probability === 0 || probability === 1) return String(probability);
  if (probability < 0.0005) return "below 0.001";
  if (probability >= 0.9995) return "above 0.999";
  return probability.toFixed(3);
}
