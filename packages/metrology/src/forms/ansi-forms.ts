/**
 * ANSI forms of electricity meters: the arrangement of elements and wires that a form designation stands for.
 *
 * - element (stator): one voltage-current pair.
 * - 2 1/2-element: two elements whose common current coil sees both, used on four-wire wye services.
 * - self-contained: carries the customer's current itself; transformer-rated: works on current transformers.
 */

/** How a form's circuits are arranged, as far as a series test and a nameplate care. */
export type ElementArrangement =
  /** One element, one current coil. */
  | "one-element"
  /** One element of two half coils, for single-phase three-wire service. */
  | "one-element-three-wire"
  /** Two elements, three wires. */
  | "two-element"
  /** Two elements on a four-wire delta service; one of them has two half coils. */
  | "two-element-four-wire-delta"
  /** 2 1/2 elements on a four-wire wye service, with a common coil. */
  | "two-and-a-half-element-wye"
  | "three-element";

export type FormConfidence = "high" | "medium" | "low";

export interface AnsiForm {
  /** Designation: "9S". */
  form: string;
  service: string;
  elements: number;
  /** Null where no source or memory says. */
  wires: string | null;
  rating: "self-contained" | "transformer-rated";
  arrangement: ElementArrangement | null;
  confidence: FormConfidence;
  source: string;
}

const memory = "common practice, no source";
const published =
  "service and rating: outdoorsiness.com/2024/02/18/understanding-electric-meter-forms and userz.net form list; elements: common practice, no source";

/**
 * The forms known here, in order of number. A row of low confidence knows its elements from hearsay only; the factors
 * of its circuits are asked of a person.
 *
 * @source per row; ANSI C12.10 itself was not read
 */
export const ansiForms: readonly AnsiForm[] = [
  {
    form: "1S",
    service: "single-phase two-wire",
    elements: 1,
    wires: "2",
    rating: "self-contained",
    arrangement: "one-element",
    confidence: "high",
    source: published,
  },
  {
    form: "2S",
    service: "single-phase three-wire",
    elements: 1,
    wires: "3",
    rating: "self-contained",
    arrangement: "one-element-three-wire",
    confidence: "high",
    source: published,
  },
  {
    form: "3S",
    service: "single-phase two-wire, or three-wire with one current transformer",
    elements: 1,
    wires: "2 or 3",
    rating: "transformer-rated",
    arrangement: "one-element",
    confidence: "high",
    source: published,
  },
  {
    form: "4S",
    service: "single-phase three-wire with two current transformers",
    elements: 1,
    wires: "3",
    rating: "transformer-rated",
    arrangement: "one-element-three-wire",
    confidence: "high",
    source: published,
  },
  {
    form: "5S",
    service: "three-wire delta or network",
    elements: 2,
    wires: "3",
    rating: "transformer-rated",
    arrangement: "two-element",
    confidence: "high",
    source: published,
  },
  {
    form: "6S",
    service: "four-wire wye",
    elements: 2,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "two-and-a-half-element-wye",
    confidence: "high",
    source: memory,
  },
  {
    form: "7S",
    service: "four-wire wye",
    elements: 2,
    wires: "4",
    rating: "transformer-rated",
    arrangement: null,
    confidence: "low",
    source: memory,
  },
  {
    form: "8S",
    service: "four-wire delta",
    elements: 2,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "two-element-four-wire-delta",
    confidence: "high",
    source: memory,
  },
  {
    form: "9S",
    service: "four-wire wye, electronic meters also four-wire delta",
    elements: 3,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "three-element",
    confidence: "high",
    source: published,
  },
  {
    form: "10S",
    service: "four-wire wye, separate voltage returns",
    elements: 3,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "three-element",
    confidence: "medium",
    source: memory,
  },
  {
    form: "11S",
    service: "four-wire delta",
    elements: 3,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "three-element",
    confidence: "medium",
    source: memory,
  },
  {
    form: "12S",
    service: "three-wire network or delta",
    elements: 2,
    wires: "3",
    rating: "self-contained",
    arrangement: "two-element",
    confidence: "high",
    source: published,
  },
  {
    form: "13S",
    service: "three-wire delta, bottom common",
    elements: 2,
    wires: "3",
    rating: "self-contained",
    arrangement: "two-element",
    confidence: "medium",
    source: memory,
  },
  {
    form: "14S",
    service: "four-wire wye",
    elements: 2,
    wires: "4",
    rating: "self-contained",
    arrangement: "two-and-a-half-element-wye",
    confidence: "high",
    source: memory,
  },
  {
    form: "15S",
    service: "four-wire delta",
    elements: 2,
    wires: "4",
    rating: "self-contained",
    arrangement: "two-element-four-wire-delta",
    confidence: "high",
    source: memory,
  },
  {
    form: "16S",
    service: "four-wire wye",
    elements: 3,
    wires: "4",
    rating: "self-contained",
    arrangement: "three-element",
    confidence: "high",
    source: published,
  },
  {
    form: "17S",
    service: "four-wire delta",
    elements: 3,
    wires: "4",
    rating: "self-contained",
    arrangement: "three-element",
    confidence: "medium",
    source: memory,
  },
  {
    form: "24S",
    service: "three-phase",
    elements: 2,
    wires: null,
    rating: "transformer-rated",
    arrangement: null,
    confidence: "low",
    source: memory,
  },
  {
    form: "25S",
    service: "three-wire network",
    elements: 2,
    wires: "3",
    rating: "self-contained",
    arrangement: "two-element",
    confidence: "medium",
    source: memory,
  },
  {
    form: "26S",
    service: "three-wire with two current transformers",
    elements: 2,
    wires: "3",
    rating: "transformer-rated",
    arrangement: "two-element",
    confidence: "medium",
    source: memory,
  },
  {
    form: "29S",
    service: "four-wire wye",
    elements: 2,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "two-and-a-half-element-wye",
    confidence: "medium",
    source: memory,
  },
  {
    form: "35S",
    service: "three-wire delta",
    elements: 2,
    wires: "3",
    rating: "transformer-rated",
    arrangement: "two-element",
    confidence: "high",
    source: memory,
  },
  {
    form: "36S",
    service: "four-wire wye",
    elements: 2,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "two-and-a-half-element-wye",
    confidence: "high",
    source: memory,
  },
  {
    form: "39S",
    service: "four-wire",
    elements: 3,
    wires: "4",
    rating: "transformer-rated",
    arrangement: null,
    confidence: "low",
    source: memory,
  },
  {
    form: "45S",
    service: "as 5S, with a single voltage common",
    elements: 2,
    wires: "3",
    rating: "transformer-rated",
    arrangement: "two-element",
    confidence: "high",
    source: memory,
  },
  {
    form: "46S",
    service: "four-wire wye",
    elements: 2,
    wires: "4",
    rating: "transformer-rated",
    arrangement: "two-and-a-half-element-wye",
    confidence: "medium",
    source: memory,
  },
  {
    form: "48S",
    service: "four-wire delta",
    elements: 2,
    wires: "4",
    rating: "transformer-rated",
    arrangement: null,
    confidence: "low",
    source: memory,
  },
  {
    form: "56S",
    service: "as 5S or 45S",
    elements: 2,
    wires: "3",
    rating: "transformer-rated",
    arrangement: "two-element",
    confidence: "medium",
    source: memory,
  },
  {
    form: "66S",
    service: "three-wire with two current transformers",
    elements: 2,
    wires: "3",
    rating: "transformer-rated",
    arrangement: null,
    confidence: "low",
    source: memory,
  },
  {
    form: "76S",
    service: "four-wire",
    elements: 3,
    wires: "4",
    rating: "transformer-rated",
    arrangement: null,
    confidence: "low",
    source: memory,
  },
];
