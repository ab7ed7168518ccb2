import { circuitNames } from "@sealbook/contract/test-plans";

export type Circuit = keyof typeof circuitNames;

/** The circuits that a test can drive, in the order that people name them. */
export const circuits = Object.keys(circuitNames) as Circuit[];
