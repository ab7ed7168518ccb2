import { cancelProgramme, programmeStates, resumeProgramme } from "@sealbook/contract/groups";
import { describe, expect, it } from "vitest";
import { jobStep } from "./job-step.ts";

describe("what can be done about a programme's job", () => {
  // The contract's summaries say which: a job under way is asked to stop, one that was cancelled or failed is gone on with.
  it("stops a job under way and goes on with one that was cancelled or failed", () => {
    expect(resumeProgramme.summary).toContain("cancelled or failed");
    expect(cancelProgramme.summary).toContain("to stop");
    expect(programmeStates.filter((state) => jobStep(state) === "stop")).toEqual(["forming", "drawing"]);
    expect(programmeStates.filter((state) => jobStep(state) === "resume")).toEqual(["failed", "cancelled"]);
    expect(programmeStates.filter((state) => jobStep(state) === null)).toEqual(["formed", "drawn"]);
  });
});
