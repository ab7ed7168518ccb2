import { dispositionNames } from "@sealbook/contract/lot-terms";
import type { Lot } from "@sealbook/contract/sampling";
import { useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { Button } from "../../ui/button.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { ReleaseForm } from "./release-form.tsx";
import { ResubmitForm } from "./resubmit-form.tsx";
import { ReturnForm } from "./return-form.tsx";

/** What happens to the meters of a decided shipment: to stock, back to the maker, or screened and submitted again. */
export function DispositionPart({ lot }: { lot: Lot }) {
  const mayDispose = useMay("shipment.dispose");
  const [way, setWay] = useState<"return" | "resubmit" | null>(null);
  if (lot.disposition !== null) {
    return (
      <p>
        <StatusMark tone={lot.disposition === "released" ? "good" : "warn"}>
          {dispositionNames[lot.disposition]}
        </StatusMark>
      </p>
    );
  }
  if (lot.state !== "approved") {
    return lot.decision === null ? null : (
      <p className="quiet">The meters stay where they are until the decision is approved.</p>
    );
  }
  if (!mayDispose) {
    return <p className="quiet">A quality engineer or a supervisor disposes of the meters now.</p>;
  }
  if (lot.outcome !== "not-accepted") return <ReleaseForm lot={lot} />;
  return (
    <div className="stack">
      <p>
        The shipment was not accepted: it goes back whole, or it is screened and what is good is submitted
        again.
      </p>
      {way === null ? (
        <div className="row">
          <Button onClick={() => setWay("resubmit")}>Screen and resubmit</Button>
          <Button kind="danger" onClick={() => setWay("return")}>
            Return it to the maker
          </Button>
        </div>
      ) : way === "return" ? (
        <ReturnForm lot={lot} onCancel={() => setWay(null)} />
      ) : (
        <ResubmitForm lot={lot} onCancel={() => setWay(null)} />
      )}
    </div>
  );
}
