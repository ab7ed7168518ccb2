import type { NewMeterTest } from "@sealbook/contract/meter-tests";
import { appOn } from "../support/app.ts";
import { benchMapping } from "../support/bench-file.ts";
import { importBench } from "../support/import-bench.ts";
import { samplingBench, shipmentScheme } from "../support/sampling-bench.ts";
import type { FaultyService } from "./faulty-service.ts";

/** A shop with everything at hand that people need for a long day: meters, a standard, lots whose samples are drawn. */
export interface PreparedShop {
  readonly meterIds: readonly string[];
  readonly technicians: readonly string[];
  readonly engineer: string;
  readonly approver: string;
  readonly mappingId: string;
  /** Shipments of five whose sample is drawn and waits to be tested. */
  readonly lots: readonly {
    readonly id: string;
    readonly units: readonly { readonly meterId: string; readonly workItemId: string | null }[];
  }[];
  aTest(meterId: string, over?: Partial<NewMeterTest>): NewMeterTest;
  /** The same for a meter of a lot, by the plan of its type. */
  aLotTest(meterId: string, over?: Partial<NewMeterTest>): NewMeterTest;
  /** A bench's file of forty good rows, no two files with the same test. */
  aFile(number: number): string;
}

const rowsOfAFile = 40;

/** Prepares the shop through the service itself, in this process, before anything is killed. */
export async function prepareShop(service: FaultyService, lotCount: number): Promise<PreparedShop> {
  const shop = await appOn({
    name: "sealbook",
    adminUrl: service.adminUrl,
    appUrl: service.appUrl,
    drop: async () => undefined,
  });
  try {
    const imports = await importBench(shop);
    const bench = lotCount === 0 ? null : await samplingBench(shop);
    const plan = await imports.bench.aPlan();
    const lots = [];
    if (bench !== null) {
      const scheme = await bench.aScheme(shipmentScheme);
      const typeId = await bench.aType();
      for (let number = 0; number < lotCount; number++) {
        const { lot } = await bench.aShipment(scheme, 5, { typeId, contract: `C-${number}` });
        lots.push({ id: lot.id, units: await bench.drawn(lot.id) });
      }
      await bench.close();
    }
    const others = await Promise.all(Array.from({ length: 3 }, () => shop.signIn("technician")));
    const mappingId = await imports.aMapping();
    const { technician, engineer } = imports.bench;
    const approver = bench?.approver ?? (await shop.signIn("supervisor"));
    return {
      meterIds: imports.meters.map(({ id }) => id),
      technicians: [technician.username, ...others.map(({ username }) => username)],
      engineer: bench?.engineer.username ?? engineer.username,
      approver: approver.username,
      mappingId,
      lots,
      aTest: (meterId, over) => imports.bench.aTest(meterId, plan.id, over),
      aLotTest: (meterId, over) =>
        (bench?.meters ?? imports.bench).aTest(meterId, bench?.planId ?? plan.id, over),
      aFile: (number) => aFile(number, imports.meters, technician.username, imports.standard),
    };
  } finally {
    await shop.close();
  }
}

/** One row a minute from eight in the morning of a day of the file's own. */
function aFile(
  number: number,
  meters: readonly { readonly number: string }[],
  tester: string,
  standard: string,
): string {
  const day = new Date(Date.UTC(2025, 5, 1) + number * 86_400_000).toISOString().slice(0, 10);
  const rows = Array.from({ length: rowsOfAFile }, (_, at) =>
    [
      meters[at % meters.length]?.number,
      day,
      `08:${String(at).padStart(2, "0")}`,
      tester,
      "ROUTINE",
      standard,
      "100.12",
      "99.87",
      "100.04",
      "no",
      "",
    ].join(","),
  );
  return `${[Object.keys(benchMapping.columns).join(","), ...rows].join("\r\n")}\r\n`;
}
