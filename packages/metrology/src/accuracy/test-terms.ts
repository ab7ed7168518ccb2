/**
 * The words of a meter's accuracy test, as data. Everything that a person typed or that a certificate
 * printed is a decimal string ("100.04"), never a binary double.
 *
 * Terminology
 * - point: one load at which the meter is compared with the standard (full load FL, light load LL, power factor PF, ...).
 * - run: one comparison at a point; a point may ask for several.
 * - pass: the whole set of points in one state of the meter: as found, or as left.
 * - occasion: why the limits apply: a new meter, a meter in service, as left after work, a request or referee test.
 */

/** A finite decimal number written out: an optional sign, digits, an optional fraction. No exponent. */
export type DecimalString = string;

export type Quantity = "Wh" | "VARh" | "VAh";
export type Direction = "delivered" | "received";

/** Which of the meter's circuits the load drives. */
export type Circuits = "series" | "element-a" | "element-b" | "element-c" | "common-coil" | "one-coil";

export type Occasion = "new" | "in-service" | "as-left" | "request";
export type PassName = "as-found" | "as-left";

/** One point of a test plan. */
export interface PlanPoint {
  /** Short name, unique in its plan: "FL", "LL", "PF", "FL-A". */
  key: string;
  /** What people read: "Full load". */
  label: string;
  /** Load as percent of test amperes; > 0. */
  loadPercent: DecimalString;
  /** Power factor, 0 < pf <= 1. */
  powerFactor: DecimalString;
  /** Whether the current lags or leads the voltage; "unity" when the power factor is 1. */
  powerFactorSense: "unity" | "lagging" | "leading";
  quantity: Quantity;
  direction: Direction;
  circuits: Circuits;
  /** Counts (disk revolutions or pulses) in one run; > 0. */
  counts: DecimalString;
  /** Which constant a count stands for: Kh per disk revolution (or its equivalent), Kt per pulse of the test output. */
  countConstant: "Kh" | "Kt";
  /** Runs asked for; >= 1. */
  runs: number;
  /** What the point is in an average: its role is what the averaging methods name. "none" keeps it out of averages. */
  role: "full-load" | "light-load" | "power-factor" | "none";
  /** Limits of this point by occasion, in percent registration; an occasion that is absent has no limit of its own. */
  limits: Partial<Record<Occasion, RegistrationLimits>>;
}

/** Inclusive limits in percent registration, and where they come from. */
export interface RegistrationLimits {
  minPercent: DecimalString;
  maxPercent: DecimalString;
  /** Citation of the rule, or "common practice, no source", or the plan's own name for a house limit. */
  source: string;
}

/** What the meter's type and nameplate say, as far as the arithmetic needs it. */
export interface MeterConstants {
  /** ANSI form, such as "9S". */
  form: string;
  /** Watthour constant Kh, Wh per revolution; > 0. */
  kh: DecimalString;
  /** Wh per pulse of the test output; null when the meter has none. */
  kt: DecimalString | null;
  /** Factors that a person gave for circuits which the table of forms does not know. */
  circuitFactors?: Partial<Record<Circuits, DecimalString>>;
}

/** One run as it was entered. */
export type RunEntry =
  | {
      kind: "counts";
      /** Counts of the meter over the gate; >= 0, and 0 for a meter that stands still. */
      counts: DecimalString;
      /** Energy that the standard indicated over the same gate, Wh (VARh, VAh); > 0. */
      standardEnergy: DecimalString;
    }
  | {
      kind: "revolutions";
      counts: DecimalString;
      /** Revolutions of the rotating standard over the same gate; > 0. */
      standardRevolutions: DecimalString;
      /** The standard's constant Ks at the tap and voltage in use, Wh per revolution; > 0. */
      standardConstant: DecimalString;
    }
  | {
      kind: "registration";
      /** Percent registration as the bench displayed it; >= 0. */
      registrationPercent: DecimalString;
    };

export interface PointEntry {
  pointKey: string;
  runs: RunEntry[];
}

/** Creep: voltage on, no current. "creeps" is a finding; "not-checked" says nothing. */
export type CreepResult = "none" | "creeps" | "not-checked";

/** Starting load: the least current at which the meter must begin to register and go on registering. */
export type StartingLoadResult = "starts" | "does-not-start" | "not-checked";

/** One reading of a demand meter or register beside the reference, over the same interval. */
export interface DemandReading {
  /** What the meter under test indicates, kW; >= 0. */
  indicatedKw: DecimalString;
  /** What the standard or reference meter indicates, kW; > 0. */
  referenceKw: DecimalString;
  /** Full scale of the meter under test, kW; > 0; null where the error is in percent of reading. */
  fullScaleKw: DecimalString | null;
  /** Load of the reading in percent of test amperes; > 0; asked for where the error is in percent of reading. */
  loadPercent?: DecimalString | null | undefined;
}

/** What a demand error is a percentage of: the full scale of the meter, or the true value that the reference shows. */
export type DemandBasis = "full-scale" | "reading";

/** The largest error of demand, either way and inclusive, and where in the range it holds. */
export interface DemandLimits {
  basis: DemandBasis;
  /** Percent of the basis; >= 0. */
  maxErrorPercent: DecimalString;
  /** Where it holds, inclusive: percent of full scale, or of test amperes where the basis is the reading. */
  fromPercent: DecimalString;
  toPercent: DecimalString;
  source: string;
}

/** How the demand readings that a plan asks for are judged. */
export interface DemandRule {
  basis: DemandBasis;
  /** Null where the profile gives none for this basis and occasion: errors are computed and not judged. */
  limits: DemandLimits | null;
}

/** The load at which a meter must start, and who says so. */
export interface StartingLoadRule {
  /** Starting current in percent of the reference current; empty where no rule gives it. */
  currents: { connection: "direct" | "transformer"; percentOfReferenceCurrent: DecimalString }[];
  source: string;
}

/** What a test plan asks of a pass beside its points. */
export interface AskedOfPass {
  creep: boolean;
  /** Null when the starting load is not asked for. */
  startingLoad: StartingLoadRule | null;
  /** Null when demand is not asked for. */
  demand: DemandRule | null;
}

export interface PassEntry {
  points: PointEntry[];
  creep: CreepResult;
  /** Absent is not checked. */
  startingLoad?: StartingLoadResult | undefined;
  /** Absent is no reading. */
  demand?: DemandReading[] | undefined;
}

/** One certified point of a standard's calibration. */
export interface CertifiedPoint {
  /** Amperes, volts, power factor at which it was certified. */
  amperes: DecimalString;
  volts: DecimalString;
  powerFactor: DecimalString;
  powerFactorSense: "unity" | "lagging" | "leading";
  quantity: Quantity;
  /** Percent registration of the standard: 100 means it registers truly. The certificate's own sign convention is converted on entry. */
  registrationPercent: DecimalString;
  /** Expanded uncertainty in percent of reading. */
  expandedUncertaintyPercent: DecimalString;
  /** Coverage factor of that uncertainty, usually 2. */
  coverageFactor: DecimalString;
}

/** The standard that a pass leaned on. */
export interface StandardInUse {
  certifiedPoints: CertifiedPoint[];
  /** Did the bench already apply the standard's certified error to the energies and registrations it reported? */
  errorAppliedByBench: boolean;
  /** What the profile says of a point outside the certified range. */
  outsideCertifiedRange: "refuse" | "take-uncorrected";
}

/** How an average registration is made: weights by role; the sum of weights divides. */
export interface AverageRule {
  /** Name for people: "Method 1", "(LL + 4 HL + 2 PF)/7". */
  label: string;
  weights: { role: "full-load" | "light-load" | "power-factor"; weight: DecimalString }[];
  source: string;
}

/** How a measured value is held against its limits. */
export type DecisionRule =
  | { kind: "simple"; source: string }
  /** Accept only within limits drawn in by r times the expanded uncertainty. */
  | { kind: "guard-band"; uncertaintyMultiple: DecimalString; source: string }
  /** Accept only if the probability of false accept is at most this. */
  | { kind: "false-accept"; maxProbability: DecimalString; source: string };
