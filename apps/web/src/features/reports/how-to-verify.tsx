import { getReportBundle, getVerifyPage, getVerifyPageHash } from "@sealbook/contract/reports";
import { useQuery } from "@tanstack/react-query";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { TextField } from "../../ui/text-field.tsx";

/** What a stranger needs to check the bundle: the page, the hash it is known by, a proof from the head they hold. */
export function HowToVerify({ reportId }: { reportId: string }) {
  const hash = useQuery(operationOptions(getVerifyPageHash, {}));
  const [held, setHeld] = useState("");
  const size = /^[1-9]\d{0,14}$/.test(held.trim()) ? Number(held.trim()) : null;
  return (
    <>
      {hash.data === undefined ? null : (
        <p className="small">
          <a href={operationUrl(getVerifyPage, {})} download>
            Verification page
          </a>
          : one file that checks a bundle without a network. Keep it apart from bundles, and compare its
          SHA-256 with the published one: <code className="report-hash">{hash.data.sha256}</code>
        </p>
      )}
      <div className="row-fields">
        <TextField
          label="Head that you hold"
          optional
          hint="Its number of entries, as at the foot of a paper: the bundle then proves that its log begins with yours"
          value={held}
          onChange={setHeld}
          inputMode="numeric"
          maxLength={15}
          error={held.trim() !== "" && size === null ? "Write a whole number." : undefined}
        />
      </div>
      {size === null ? null : (
        <div>
          <a
            className="button"
            href={operationUrl(getReportBundle, { id: reportId }, { names: "left-out", heldSize: size })}
            download
          >
            Evidence bundle from {size} entries
          </a>
        </div>
      )}
    </>
  );
}
