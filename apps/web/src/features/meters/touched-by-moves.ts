/** Areas whose lists change when meters move, come or are corrected. */
export const touchedByMoves = ["meters", "meterEvents", "places", "inventoryFlags", "due", "search"] as const;
