import "./certificate-points-field.css";
import type { SignConvention } from "@sealbook/metrology/accuracy/standard-registration-of";
import { newId } from "../../api/new-id.ts";
import { Button } from "../../ui/button.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { nextPoint, type PointDraft, registrationOf } from "./calibration-draft.ts";

const senses = [
  { value: "unity", label: "unity" },
  { value: "lagging", label: "lagging" },
  { value: "leading", label: "leading" },
] as const;
const quantities = [
  { value: "Wh", label: "Wh" },
  { value: "VARh", label: "VARh" },
  { value: "VAh", label: "VAh" },
] as const;

/** The lines of a certificate, as printed, with what each makes the standard register beside it. */
export function CertificatePointsField({
  points,
  convention,
  onChange,
  errorAt,
}: {
  points: readonly PointDraft[];
  convention: SignConvention | "";
  onChange: (points: PointDraft[]) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  const change = (lineId: string, changes: Partial<PointDraft>) =>
    onChange(points.map((point) => (point.lineId === lineId ? { ...point, ...changes } : point)));
  const addLine = () => {
    onChange([...points, nextPoint(points, newId())]);
    // The new line is there after the next drawing; the keyboard goes on in it.
    setTimeout(() => document.getElementById(fieldId(`/points/${points.length}/amperes`))?.focus());
  };
  return (
    <div className="stack-tight">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard. */}
      <section className="table-region" aria-label="Points of the certificate" tabIndex={0}>
        <table className="table certificate-points">
          <caption className="visually-hidden">
            Points of the certificate, as printed and as converted
          </caption>
          <thead>
            <tr>
              <th scope="col">Amperes</th>
              <th scope="col">Volts</th>
              <th scope="col">Power factor</th>
              <th scope="col">Sense</th>
              <th scope="col">Quantity</th>
              <th scope="col">Figure as printed, %</th>
              <th scope="col">Expanded U, %</th>
              <th scope="col">k</th>
              <th scope="col" className="numeric">
                Standard registers
              </th>
              <th scope="col">
                <span className="visually-hidden">Take off</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {points.map((point, index) => {
              const at = (field: string) => `/points/${index}/${field}`;
              const number = (field: keyof PointDraft, label: string, isFirst = false) => (
                <DecimalField
                  label={`${label}, line ${index + 1}`}
                  hideLabel
                  id={fieldId(at(field))}
                  value={point[field]}
                  onChange={(text) => change(point.lineId, { [field]: text })}
                  error={errorAt(at(field)) ?? (isFirst ? errorAt(`/points/${index}`) : undefined)}
                />
              );
              return (
                <tr key={point.lineId}>
                  <td>{number("amperes", "Amperes", true)}</td>
                  <td>{number("volts", "Volts")}</td>
                  <td>{number("powerFactor", "Power factor")}</td>
                  <td>
                    <Select
                      label={`Sense, line ${index + 1}`}
                      hideLabel
                      id={fieldId(at("powerFactorSense"))}
                      value={point.powerFactorSense}
                      onChange={(sense) =>
                        change(point.lineId, { powerFactorSense: sense === "" ? "unity" : sense })
                      }
                      options={senses}
                      error={errorAt(at("powerFactorSense"))}
                    />
                  </td>
                  <td>
                    <Select
                      label={`Quantity, line ${index + 1}`}
                      hideLabel
                      id={fieldId(at("quantity"))}
                      value={point.quantity}
                      onChange={(quantity) =>
                        change(point.lineId, { quantity: quantity === "" ? "Wh" : quantity })
                      }
                      options={quantities}
                      error={errorAt(at("quantity"))}
                    />
                  </td>
                  <td>{number("printedPercent", "Figure as printed, percent")}</td>
                  <td>{number("expandedUncertaintyPercent", "Expanded uncertainty, percent")}</td>
                  <td>{number("coverageFactor", "Coverage factor k")}</td>
                  <td className="numeric">
                    <Converted registration={registrationOf(point.printedPercent, convention)} />
                  </td>
                  <td>
                    {points.length === 1 ? null : (
                      <Button
                        kind="quiet"
                        aria-label={`Take line ${index + 1} off`}
                        onClick={() => onChange(points.filter(({ lineId }) => lineId !== point.lineId))}
                      >
                        Take off
                      </Button>
                    )}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </section>
      <div>
        <Button onClick={addLine} disabled={points.length >= 200}>
          Add a line
        </Button>
      </div>
    </div>
  );
}

/** A standard that is off by more than this was most likely read with the wrong sign convention. */
const plausible = { minPercent: 90, maxPercent: 110 };

function Converted({ registration }: { registration: string | null }) {
  if (registration === null) return <span className="quiet">–</span>;
  const figure = Number(registration);
  const isPlausible = figure >= plausible.minPercent && figure <= plausible.maxPercent;
  return (
    <output>
      {registration} %{isPlausible ? null : <div className="field-error">Check the sign convention.</div>}
    </output>
  );
}
