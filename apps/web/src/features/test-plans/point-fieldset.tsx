import "./point-fieldset.css";
import { circuitNames, occasionNames, occasions } from "@sealbook/contract/test-plans";
import { Fragment } from "react";
import { Button } from "../../ui/button.tsx";
import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { optionsOf } from "../../ui/options-of.ts";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import type { PointDraft } from "./plan-draft.ts";
import { directionNames, pointRoleNames } from "./point-words.ts";

/** One point of a plan under the pen. */
export function PointFieldset({
  point,
  index,
  onChange,
  onRemove,
  errorAt,
}: {
  point: PointDraft;
  index: number;
  onChange: (changes: Partial<PointDraft>) => void;
  /** Undefined for the only point: a plan has at least one. */
  onRemove: (() => void) | undefined;
  errorAt: (pointer: string) => string | undefined;
}) {
  const common = (name: string) => {
    const pointer = `/body/points/${index}/${name}`;
    return { id: fieldId(pointer), error: errorAt(pointer) };
  };
  return (
    <fieldset className="plan-point">
      <legend>
        Point {index + 1}
        {point.key === "" ? "" : `: ${point.key}`}
      </legend>
      <div className="row-fields">
        <TextField
          label="Key"
          hint="Short capital name, such as FL"
          {...common("key")}
          value={point.key}
          onChange={(key) => onChange({ key: key.toUpperCase() })}
          maxLength={12}
        />
        <TextField
          label="Point"
          hint="What people read"
          {...common("label")}
          value={point.label}
          onChange={(label) => onChange({ label })}
          maxLength={60}
        />
        <DecimalField
          label="Load"
          unit="% of TA"
          {...common("loadPercent")}
          value={point.loadPercent}
          onChange={(loadPercent) => onChange({ loadPercent })}
        />
        <DecimalField
          label="Power factor"
          {...common("powerFactor")}
          value={point.powerFactor}
          onChange={(powerFactor) => onChange({ powerFactor })}
        />
        <Select
          label="Current against voltage"
          value={point.powerFactorSense}
          onChange={(sense) => onChange({ powerFactorSense: sense === "" ? "unity" : sense })}
          options={optionsOf({ unity: "In step (power factor 1)", lagging: "Lagging", leading: "Leading" })}
        />
        <Select
          label="Quantity"
          value={point.quantity}
          onChange={(quantity) => onChange({ quantity: quantity === "" ? "Wh" : quantity })}
          options={optionsOf({ Wh: "Wh", VARh: "VARh", VAh: "VAh" })}
        />
        <Select
          label="Direction"
          value={point.direction}
          onChange={(direction) => onChange({ direction: direction === "" ? "delivered" : direction })}
          options={optionsOf(directionNames)}
        />
        <Select
          label="Circuits driven"
          value={point.circuits}
          onChange={(circuits) => onChange({ circuits: circuits === "" ? "series" : circuits })}
          options={optionsOf(circuitNames)}
        />
        <DecimalField
          label="Counts in a run"
          {...common("counts")}
          value={point.counts}
          onChange={(counts) => onChange({ counts })}
        />
        <Select
          label="One count is"
          value={point.countConstant}
          onChange={(constant) => onChange({ countConstant: constant === "" ? "Kh" : constant })}
          options={optionsOf({ Kh: "Kh (a revolution)", Kt: "Kt (a pulse)" })}
        />
        <DecimalField
          label="Runs"
          {...common("runs")}
          value={point.runs}
          onChange={(runs) => onChange({ runs })}
        />
        <Select
          label="In averages"
          value={point.role}
          onChange={(role) => onChange({ role: role === "" ? "none" : role })}
          options={optionsOf(pointRoleNames)}
        />
      </div>
      <details open={occasions.some((occasion) => point.limits[occasion].minPercent !== "")}>
        <summary>Limits of its own, where the rules leave the point to the shop</summary>
        <div className="plan-point-limits">
          {occasions.map((occasion) => {
            const limits = point.limits[occasion];
            const set = (changes: Partial<typeof limits>) =>
              onChange({ limits: { ...point.limits, [occasion]: { ...limits, ...changes } } });
            return (
              <Fragment key={occasion}>
                <span>{occasionNames[occasion]}</span>
                <DecimalField
                  label={`${occasionNames[occasion]}, from percent`}
                  hideLabel
                  placeholder="from %"
                  {...common(`limits/${occasion}/minPercent`)}
                  value={limits.minPercent}
                  onChange={(minPercent) => set({ minPercent })}
                />
                <DecimalField
                  label={`${occasionNames[occasion]}, to percent`}
                  hideLabel
                  placeholder="to %"
                  {...common(`limits/${occasion}/maxPercent`)}
                  value={limits.maxPercent}
                  onChange={(maxPercent) => set({ maxPercent })}
                />
                <TextField
                  label={`${occasionNames[occasion]}, source`}
                  hideLabel
                  placeholder="where the limit comes from"
                  {...common(`limits/${occasion}/source`)}
                  value={limits.source}
                  onChange={(source) => set({ source })}
                  maxLength={300}
                />
              </Fragment>
            );
          })}
        </div>
      </details>
      {onRemove === undefined ? null : (
        <div>
          <Button kind="quiet" onClick={onRemove}>
            Take point {index + 1} out
          </Button>
        </div>
      )}
    </fieldset>
  );
}
