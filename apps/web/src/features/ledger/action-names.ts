import type { LedgerAction } from "@sealbook/contract/ledger";

/** What people call the ledger's actions. */
export const actionNames: Record<LedgerAction, string> = {
  "account.create": "Account opened",
  "account.change": "Account changed",
  "account.setPassword": "Password set",
  "account.setPin": "Signing PIN set",
  "account.forget": "Person forgotten",
  "calibration.record": "Calibration recorded",
  "file.add": "File kept",
  "import.add": "Import begun",
  "import.cancel": "Import cancelled",
  "import.finish": "Import finished",
  "import.run": "Import run",
  "importMapping.save": "Import mapping saved",
  "meter.create": "Meter added",
  "meter.move": "Meter moved",
  "meterTest.record": "Test recorded",
  "meterTest.amend": "Test amended",
  "meterTest.sign": "Test signed",
  "meterType.create": "Type added",
  "meterType.change": "Type changed",
  "place.create": "Place added",
  "profile.add": "Rule profile added",
  "servicePoint.create": "Service point added",
  "shop.set": "Shop set up",
  "standard.create": "Standard added",
  "standard.change": "Standard changed",
  "testPlan.add": "Test plan added",
  "workItem.open": "Test asked for",
  "workItem.finish": "Test made",
};

/** An action's name; an action that this client does not know yet stands as the ledger spells it. */
export function actionName(action: string): string {
  return Object.entries(actionNames).find(([known]) => known === action)?.[1] ?? action;
}
