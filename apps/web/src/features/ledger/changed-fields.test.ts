import { describe, expect, it } from "vitest";
import { changedFields, fieldsChangedBetween, supersededIn } from "./changed-fields.ts";

// Expected values follow from the payloads by reading them.
describe("the difference of a ledger entry", () => {
  it("names the fields that changed, and no others", () => {
    const payload = '{"after":{"kh":"1.8","model":"AW-3"},"before":{"kh":"7.2","model":"AW-3"}}';
    expect(changedFields(payload)).toEqual([{ field: "kh", before: "7.2", after: "1.8" }]);
  });

  it("shows what came and what went, and goes into what is nested", () => {
    const payload =
      '{"after":{"circuitFactors":{"A":"2"},"note":"new","seals":["K-1"]},"before":{"circuitFactors":{"A":"1"},"dueOn":"2026-03-02","note":null,"seals":[]}}';
    expect(changedFields(payload)).toEqual([
      { field: "circuitFactors, A", before: "1", after: "2" },
      { field: "dueOn", before: "2026-03-02", after: null },
      { field: "note", before: null, after: "new" },
      { field: "seals", before: "[]", after: '["K-1"]' },
    ]);
  });

  it("is none where an entry does not name both states", () => {
    expect(changedFields('{"kh":"1.8"}')).toBeNull();
    expect(changedFields("no JSON")).toBeNull();
  });

  it("of a record that supersedes another goes into the rows of its lists", () => {
    const before =
      '{"points":[{"point":"FL","registration":"100.1"},{"point":"LL","registration":"99.8"}],"seals":["K-1"]}';
    const after =
      '{"points":[{"point":"FL","registration":"100.1"},{"point":"LL","registration":"98.9"}],"seals":["K-1"],"supersedesId":"a"}';
    expect(fieldsChangedBetween(before, after)).toEqual([
      { field: "points, 2, registration", before: "99.8", after: "98.9" },
      { field: "supersedesId", before: null, after: "a" },
    ]);
    expect(supersededIn(after)).toBe("a");
    expect(supersededIn(before)).toBeNull();
    expect(fieldsChangedBetween("no JSON", after)).toBeNull();
  });
});
