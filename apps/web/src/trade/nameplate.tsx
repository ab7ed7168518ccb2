import type { MeterType } from "@sealbook/contract/meter-types";
import { DefinitionList } from "../ui/definition-list.tsx";

const technologyNames: Record<MeterType["technology"], string> = {
  electromechanical: "Electromechanical",
  "solid-state": "Solid state",
};

const elementNames: Record<MeterType["elements"], string> = { "1": "1", "2": "2", "2.5": "2 1/2", "3": "3" };

/** What the nameplate of a type of meter says. */
export function Nameplate({
  type,
  before = [],
}: {
  type: Omit<MeterType, "id" | "version" | "retired" | "circuitFactors">;
  /** Lines of the single meter that stand above those of its type. */
  before?: readonly { term: string; value: React.ReactNode }[];
}) {
  return (
    <DefinitionList
      items={[
        ...before,
        { term: "Maker", value: type.maker },
        { term: "Model", value: type.model },
        { term: "Form", value: type.form },
        { term: "Phases, wires", value: `${type.phases} phase, ${type.wires} wire` },
        { term: "Elements", value: elementNames[type.elements] },
        { term: "Class (CL)", value: `${type.classAmperes} A` },
        { term: "Test amperes (TA)", value: `${type.testAmperes} A` },
        {
          term: "Voltage",
          value:
            type.voltsMin === type.voltsMax ? `${type.voltsMin} V` : `${type.voltsMin}–${type.voltsMax} V`,
        },
        { term: "Design voltage", value: `${type.designVolts} V` },
        { term: "Kh", value: `${type.kh} Wh` },
        { term: "Kt", value: type.kt === null ? "no test output" : `${type.kt} Wh` },
        { term: "Accuracy class", value: type.accuracyClass },
        { term: "Technology", value: technologyNames[type.technology] },
        { term: "Register", value: `${type.registerDials} digits, multiplier ${type.registerMultiplier}` },
      ]}
    />
  );
}
