import { getTestCertificate, listMeterTests } from "@sealbook/contract/meter-tests";
import { describe, expect, test } from "vitest";
import { operationUrl } from "../../../apps/web/src/api/operation-url.ts";
import { parseSearch, stringifySearch } from "../../../apps/web/src/app/search-text.ts";

describe("addresses of operations", () => {
  test("fill the path and escape what is put into it", () => {
    expect(operationUrl(getTestCertificate, { id: "a/b" })).toBe("/api/meter-tests/a%2Fb/certificate.pdf");
  });

  test("leave out filters that say nothing", () => {
    expect(operationUrl(listMeterTests, {}, { meterId: "", reason: undefined, asFound: null })).toBe(
      "/api/meter-tests",
    );
    expect(operationUrl(listMeterTests, {}, { limit: 0, reason: "periodic" })).toBe(
      "/api/meter-tests?limit=0&reason=periodic",
    );
  });

  test("refuse a path without its parameter rather than ask for the wrong record", () => {
    expect(() => operationUrl(getTestCertificate, { id: "" })).toThrow(RangeError);
  });
});

describe("filters in the client's address", () => {
  test("stay text, so that leading zeros and numbers survive", () => {
    expect(parseSearch("?q=00041287&state=in-stock")).toEqual({ q: "00041287", state: "in-stock" });
    expect(stringifySearch({ q: "00041287" })).toBe("?q=00041287");
  });

  test("come back as they went", () => {
    const search = { q: 'a&b=c "d" +é', reason: "periodic" };
    expect(parseSearch(stringifySearch(search))).toEqual(search);
  });

  test("are left out when empty", () => {
    expect(stringifySearch({ q: "", state: undefined })).toBe("");
  });
});
