import type { FormulaTrace } from "@sealbook/metrology/accuracy/pass-evaluation";

/** How figures came about: each formula, what went in, what came out, and where the formula is from. */
export function FormulaTraces({ traces }: { traces: readonly FormulaTrace[] }) {
  return (
    <>
      {traces.map((trace) => (
        <div key={`${trace.formula} ${trace.result.value}`} className="formula">
          <p>
            <strong className="formula-text">{trace.formula}</strong>
          </p>
          <dl className="formula-figures">
            {[...trace.inputs, trace.result].map((figure) => (
              <div key={figure.symbol + figure.label}>
                <dt>
                  <span className="formula-text">{figure.symbol}</span> {figure.label}
                </dt>
                <dd>
                  {figure.value} {figure.unit}
                </dd>
              </div>
            ))}
          </dl>
          <p className="quiet small">Source: {trace.source}</p>
        </div>
      ))}
    </>
  );
}
