import { z } from "zod";
import type { Calculation } from "./calculation.ts";

/** The part of a JSON Schema that help is written from. */
interface FieldSchema {
  type?: string | string[] | undefined;
  description?: string | undefined;
  default?: unknown;
  enum?: unknown[] | undefined;
  const?: unknown;
  anyOf?: FieldSchema[] | undefined;
  oneOf?: FieldSchema[] | undefined;
  properties?: Record<string, FieldSchema> | undefined;
  required?: string[] | undefined;
  items?: FieldSchema | undefined;
}

/**
 * A calculation's name, summary, source and fields as plain text, from the schemas that parse them.
 *
 * @param calculation one of the table
 * @returns several lines, the last one ended
 */
export function calculationHelp(calculation: Calculation): string {
  const input = z.toJSONSchema(calculation.input, { io: "input", unrepresentable: "any" }) as FieldSchema;
  const output = z.toJSONSchema(calculation.output, { io: "output", unrepresentable: "any" }) as FieldSchema;
  return [
    calculation.name,
    `  ${calculation.summary}`,
    `  Source: ${calculation.source}`,
    "  Input:",
    ...fieldLines(input, "    "),
    "  Output:",
    ...fieldLines(output, "    "),
    "",
  ].join("\n");
}

function fieldLines(schema: FieldSchema, indent: string): string[] {
  const lines: string[] = [];
  for (const [name, field] of Object.entries(schema.properties ?? {})) {
    const optional = schema.required?.includes(name) ? "" : ", optional";
    const described = field.description === undefined ? "" : `: ${field.description}`;
    lines.push(`${indent}${name} (${kindOf(field)}${optional})${described}`);
    for (const inner of innerObjects(field)) lines.push(...fieldLines(inner, `${indent}  `));
  }
  return lines;
}

/** The objects inside a field: itself, the items of a list, the members of a choice. */
function innerObjects(field: FieldSchema): FieldSchema[] {
  const choices = [...(field.anyOf ?? []), ...(field.oneOf ?? [])];
  return [
    ...(field.properties === undefined ? [] : [field]),
    ...(field.items === undefined ? [] : innerObjects(field.items)),
    ...choices.flatMap(innerObjects),
  ];
}

function kindOf(field: FieldSchema): string {
  const choices = field.anyOf ?? field.oneOf;
  if (choices !== undefined) return [...new Set(choices.map(kindOf))].join(" or ");
  if (field.const !== undefined) return JSON.stringify(field.const);
  if (field.enum !== undefined) return field.enum.map((value) => JSON.stringify(value)).join(" or ");
  if (field.type === "array") return `list of ${field.items === undefined ? "values" : kindOf(field.items)}`;
  return field.type === undefined ? "any" : [field.type].flat().join(" or ");
}
