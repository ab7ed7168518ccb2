import { askedOfTest } from "@sealbook/contract/asked-of-test";
import type { ProblemError as ErrorDetail } from "@sealbook/contract/problems";
import type { StandardOnDate } from "../standards/standards.ts";
import type { PlanDocument } from "./documents.ts";
import type { BuildResult, MeterToTest, TestInput, TestOrigin } from "./recording-terms.ts";

/** Clocks differ: a test may be dated so many milliseconds ahead of the server's clock. */
const clockTolerance = 60_000;

export interface TestToCheck {
  input: TestInput;
  origin: TestOrigin;
  meter: MeterToTest;
  plan: PlanDocument;
  /** The chosen standard on the local date of the test; null when none is chosen or it is not on record. */
  standard: StandardOnDate | null;
  /** Local date of the test. */
  performedOn: string;
  now: Date;
}

/**
 * The rules of the shop that a test must keep before anything is judged.
 *
 * A bench's file says nothing about preconditions, conditions or a creep test that was left out; those are asked of a
 * test that a person enters, and of an amendment as far as the amended test answered them.
 *
 * @returns the refusal with every place at once, or null when nothing refuses
 */
export function checkTest(test: TestToCheck): (BuildResult & { kind: "refused" }) | null {
  const { input, origin } = test;
  if (input.outcome.kind === "withdrawn") {
    return origin.supersedes === null
      ? ruleRefusal([{ pointer: "/outcome", detail: "Only a record that exists can be withdrawn." }])
      : ruleRefusal(whatRefusesStandardOfUntested(input));
  }
  const errors = [...whatRefusesTime(test), ...whatRefusesReasons(input)];
  if (input.outcome.kind === "no-test-possible") {
    return ruleRefusal([...errors, ...whatRefusesStandardOfUntested(input)]);
  }
  if (origin.imported === null) {
    const asked = askedOfTest(test.plan.body, origin.supersedes?.answered ?? null);
    errors.push(
      ...whatRefusesPreconditions(test, asked),
      ...whatRefusesConditions(test, asked),
      ...whatRefusesCreep(test, asked),
    );
  }
  errors.push(...whatRefusesUnasked(test), ...whatRefusesAdjusting(test));
  if (input.errorAppliedByBench === null) {
    errors.push({
      pointer: "/errorAppliedByBench",
      detail: "Say whether the bench already applied the standard's certified error.",
    });
  }
  errors.push(...whatRefusesStandard(test));
  return ruleRefusal(errors) ?? overdue(test);
}

function ruleRefusal(errors: ErrorDetail[]): (BuildResult & { kind: "refused" }) | null {
  const [first] = errors;
  return first === undefined
    ? null
    : { kind: "refused", slug: "refused-by-rule", detail: first.detail, errors };
}

function whatRefusesTime({ input, meter, performedOn, now }: TestToCheck): ErrorDetail[] {
  const pointer = "/performedAt";
  if (Date.parse(input.performedAt) > now.getTime() + clockTolerance) {
    return [{ pointer, detail: "This lies in the future; correct the date or the time." }];
  }
  // By the day: a meter that is added on the spot is often taken into the book minutes after its test began.
  if (meter.firstEventOn !== null && performedOn < meter.firstEventOn) {
    return [
      {
        pointer,
        detail: `Meter ${meter.utilityNumber} came into the book on ${meter.firstEventOn}, after this date.`,
      },
    ];
  }
  return [];
}

function whatRefusesReasons({ reasons }: TestInput): ErrorDetail[] {
  const repeated = reasons.findIndex((reason, index) => reasons.indexOf(reason) !== index);
  return repeated < 0 ? [] : [{ pointer: `/reasons/${repeated}`, detail: "This reason is given twice." }];
}

type Asked = ReturnType<typeof askedOfTest>;

function whatRefusesPreconditions({ input, plan }: TestToCheck, asked: Asked): ErrorDetail[] {
  const confirmed = new Set(input.preconditionsConfirmed);
  const open = asked.preconditions.filter((precondition) => !confirmed.has(precondition));
  const unknown = input.preconditionsConfirmed.findIndex(
    (precondition) => !plan.body.preconditions.includes(precondition),
  );
  const rule = `Test plan ${plan.code}, revision ${plan.revision}`;
  return [
    ...open.map((precondition) => ({
      pointer: "/preconditionsConfirmed",
      detail: `Confirm before the test: ${precondition}`,
      rule,
    })),
    ...(unknown < 0
      ? []
      : [
          {
            pointer: `/preconditionsConfirmed/${unknown}`,
            detail: "The plan does not ask for this; open the test again to get the plan's present words.",
            rule,
          },
        ]),
  ];
}

function whatRefusesConditions({ input, plan }: TestToCheck, asked: Asked): ErrorDetail[] {
  const given = {
    volts: input.conditions.volts,
    amperes: input.conditions.amperes,
    temperature: input.conditions.temperatureCelsius,
  };
  const fieldOf = { volts: "volts", amperes: "amperes", temperature: "temperatureCelsius" };
  return asked.conditions
    .filter((condition) => given[condition] === null)
    .map((condition) => ({
      pointer: `/conditions/${fieldOf[condition]}`,
      detail: `The plan asks for the ${condition} during the test.`,
      rule: `Test plan ${plan.code}, revision ${plan.revision}`,
    }));
}

function whatRefusesCreep({ input: { outcome }, plan }: TestToCheck, asked: Asked): ErrorDetail[] {
  if (asked.creep === "not-asked" || outcome.kind !== "tested") return [];
  const detail = "The plan asks for the creep test: say whether the meter creeps.";
  const rule = `Test plan ${plan.code}, revision ${plan.revision}`;
  return [
    ...(outcome.asFound.creep === "not-checked" ? [{ pointer: "/outcome/asFound/creep", detail, rule }] : []),
    ...(outcome.asLeft.kind === "entered" && outcome.asLeft.pass.creep === "not-checked"
      ? [{ pointer: "/outcome/asLeft/pass/creep", detail, rule }]
      : []),
  ];
}

/** What the plan does not ask for is not judged, so a finding there would go unheard. */
function whatRefusesUnasked({ input: { outcome }, plan }: TestToCheck): ErrorDetail[] {
  if (outcome.kind !== "tested") return [];
  const { asFound, asLeft } = outcome;
  const passes = [
    { entry: asFound, pointer: "/outcome/asFound" },
    ...(asLeft.kind === "entered" ? [{ entry: asLeft.pass, pointer: "/outcome/asLeft/pass" }] : []),
  ];
  const rule = `Test plan ${plan.code}, revision ${plan.revision}`;
  return passes.flatMap(({ entry, pointer }) => [
    ...(plan.body.startingLoad === "not-asked" && (entry.startingLoad ?? "not-checked") !== "not-checked"
      ? [
          {
            pointer: `${pointer}/startingLoad`,
            detail: "The plan does not ask for the starting load; leave it out, or choose a plan that does.",
            rule,
          },
        ]
      : []),
    ...(plan.body.demand === null && entry.demand !== undefined
      ? [
          {
            pointer: `${pointer}/demand`,
            detail: "The plan does not ask for demand; leave it out, or choose a plan that does.",
            rule,
          },
        ]
      : []),
  ]);
}

/** A meter under a legal hold may be tested as found and is not touched: what was adjusted before the hold may be amended. */
function whatRefusesAdjusting({ input: { outcome }, origin, meter }: TestToCheck): ErrorDetail[] {
  if (meter.heldFor === null || origin.supersedes !== null) return [];
  if (outcome.kind !== "tested" || outcome.asLeft.kind !== "entered") return [];
  return [
    {
      pointer: "/outcome/asLeft",
      detail: `Meter ${meter.utilityNumber} is under a legal hold (${meter.heldFor}): it is tested as found and not adjusted.`,
      rule: "A legal hold stands until who placed it lifts it",
    },
  ];
}

function whatRefusesStandardOfUntested(input: TestInput): ErrorDetail[] {
  return [
    ...(input.standardId === null
      ? []
      : [{ pointer: "/standardId", detail: "Without a test no standard is named." }]),
    ...(input.errorAppliedByBench === null
      ? []
      : [{ pointer: "/errorAppliedByBench", detail: "Without a test there is nothing to say here." }]),
  ];
}

function whatRefusesStandard({ input, plan, standard }: TestToCheck): ErrorDetail[] {
  const pointer = "/standardId";
  if (input.standardId === null) return [{ pointer, detail: "Name the standard that the test leans on." }];
  if (standard === null) return [{ pointer, detail: "This standard is not on record." }];
  if (standard.withdrawnAt !== null && Date.parse(input.performedAt) >= standard.withdrawnAt.getTime()) {
    return [{ pointer, detail: `${standard.designation} was withdrawn from use; choose another standard.` }];
  }
  if (plan.body.standardRank === "reference" && standard.rank !== "reference") {
    return [
      {
        pointer,
        detail: `The plan asks for a reference standard; ${standard.designation} is a working standard.`,
        rule: `Test plan ${plan.code}, revision ${plan.revision}`,
      },
    ];
  }
  return [];
}

function overdue({ standard, performedOn }: TestToCheck): (BuildResult & { kind: "refused" }) | null {
  if (standard === null || (standard.calibration !== null && !standard.calibration.overdue)) return null;
  const detail =
    standard.calibration === null
      ? `${standard.designation} had no calibration on record on ${performedOn}.`
      : `${standard.designation} was due for calibration on ${standard.calibration.dueOn}; the test was on ${performedOn}.`;
  return {
    kind: "refused",
    slug: "standard-overdue",
    detail: `${detail} Use another standard, or record its new calibration first.`,
    errors: [
      {
        pointer: "/standardId",
        detail,
        rule: "A test leans on a standard that is in calibration on its date (traceability)",
      },
    ],
  };
}
