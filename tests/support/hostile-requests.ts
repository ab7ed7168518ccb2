import type { Operation } from "@sealbook/contract/operation";
import { type Role, roles } from "@sealbook/contract/permissions";
import fc from "fast-check";
import { z } from "zod";

/** A request as it goes to the service: nothing in it has to make sense. */
export interface HostileRequest {
  readonly role: Role | null;
  readonly method: Operation["method"];
  readonly url: string;
  readonly headers: Record<string, string>;
  readonly payload: string | Buffer | undefined;
}

/** What a shape of the contract looks like as JSON Schema, as far as it is read here. */
interface Shape {
  readonly type?: string | readonly string[];
  readonly enum?: readonly unknown[];
  readonly const?: unknown;
  readonly anyOf?: readonly Shape[];
  readonly oneOf?: readonly Shape[];
  readonly allOf?: readonly Shape[];
  readonly $ref?: string;
  readonly $defs?: Readonly<Record<string, Shape>>;
  readonly properties?: Readonly<Record<string, Shape>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: boolean | Shape;
  readonly propertyNames?: Shape;
  readonly items?: Shape;
  readonly prefixItems?: readonly Shape[];
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly pattern?: string;
  readonly format?: string;
  readonly minLength?: number;
  readonly maxLength?: number;
  readonly minimum?: number;
  readonly maximum?: number;
}

const long = "A".repeat(1_000_000);
const deep = (open: string, close: string, levels: number) => open.repeat(levels) + close.repeat(levels);

/** Values that no field asks for. Written from memory of what services are known to stumble over. */
const hostileValues: readonly unknown[] = [
  null,
  true,
  [],
  {},
  [[]],
  0,
  -0,
  -1,
  0.1,
  1e308,
  -1e308,
  5e-324,
  // Written into the JSON as they stand, since no number of this language is one of them.
  "raw:9007199254740993",
  "raw:-9007199254740993",
  "raw:1e400",
  "raw:-1e400",
  "raw:1e-400",
  "raw:-0",
  "raw:-0.0",
  "raw:100.000000000000000000000000000000001",
  2 ** 31,
  2 ** 63,
  "",
  " ",
  "\0",
  "a\0b",
  "\ud800",
  "\udfffx",
  "\u202e\u2066evil\u2069",
  "\ufeff",
  "\u0000\u0001\u001b[31m",
  "line\r\nSet-Cookie: a=b",
  "'; DROP TABLE meter; --",
  "' OR '1'='1",
  "$1",
  "%_\\",
  [".*+?^$", "{}()|[]\\"].join(""),
  "<script>alert(1)</script>",
  "=1+1",
  "../../../../etc/passwd",
  "{{7*7}}",
  "NaN",
  "Infinity",
  "-Infinity",
  "1e400",
  "-0",
  "0x10",
  "١٢٣",
  "9".repeat(400),
  `0.${"0".repeat(400)}1`,
  "0000-00-00",
  "9999-12-31T23:59:60Z",
  "+275760-09-13T00:00:00.001Z",
  "-271821-04-19T23:59:59.999Z",
  "2026-02-30",
  "0001-01-01T00:00:00Z",
  "00000000-0000-0000-0000-000000000000",
  "ffffffff-ffff-7fff-bfff-ffffffffffff",
  "é".normalize("NFD"),
  "👩‍👩‍👧‍👦".repeat(50),
  long,
  Array.from({ length: 5_000 }, (_, at) => at),
  Array.from({ length: 1_001 }, () => ({})),
  { toString: "x", constructor: { prototype: { polluted: true } } },
  JSON.parse('{"__proto__":{"polluted":true},"length":-1}'),
  { $gt: "" },
];
const hostileKeys = [
  "__proto__",
  "constructor",
  "toString",
  "",
  "\0",
  "id",
  "role",
  "approvedBy",
  "entry_id",
  "at",
];

/** Whole bodies that are no good JSON, or too good. */
const hostileBodies: readonly (string | Buffer)[] = [
  "",
  " ",
  "null",
  "undefined",
  "NaN",
  "1e400",
  "-",
  '"',
  "{",
  "}",
  "[",
  "{,}",
  "{'a':1}",
  '{"a":1,}',
  "\ufeff{}",
  "{}\0",
  "{}{}",
  '{"id":1,"id":2,"id":3}',
  '{"__proto__":{"admin":true}}',
  '{"constructor":{"prototype":{"admin":true}}}',
  '"\\ud800"',
  '{"a":"\\u0000"}',
  '{"a":1e400}',
  '{"a":-0}',
  deep("[", "]", 5_000),
  deep('{"a":', "}", 3_000).replace(":}", ":1}"),
  deep("[", "", 100_000),
  `{"a":"${long}"}`,
  `{"a":"${long}${long}"}`,
  `[${"0,".repeat(200_000)}0]`,
  Buffer.from([0xff, 0xfe, 0x00]),
  Buffer.from([0xc3, 0x28]),
  Buffer.concat([Buffer.from('{"a":"'), Buffer.from([0xed, 0xa0, 0x80]), Buffer.from('"}')]),
  Buffer.from("{}", "utf16le"),
];

const contentTypes = [
  "text/plain",
  "application/xml",
  "application/x-www-form-urlencoded",
  "multipart/form-data",
  "multipart/form-data; boundary=",
  "application/json; charset=utf-16",
  "application/json, text/plain",
  "application/problem+json",
  ";;;",
  "application/json;".repeat(100),
];

const headerValues = [
  "",
  "*",
  "null",
  '"1"',
  'W/"1"',
  '"999999999"',
  '"99999999999999999999"',
  '"-1"',
  "0",
  "a".repeat(4_000),
  "é",
  "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
  "00000000-0000-0000-0000-000000000000",
  "[object Object]",
];

const headerNames = [
  "if-match",
  "idempotency-key",
  "accept",
  "accept-encoding",
  "cookie",
  "authorization",
  "range",
  "x-forwarded-for",
  "x-forwarded-host",
  "host",
  "origin",
  "sec-fetch-site",
  "x-http-method-override",
  "content-encoding",
  "expect",
  "forwarded",
  "referer",
];

const cursors = [
  "",
  "AAAA",
  "!!!!",
  "a".repeat(5_000),
  ...[
    "null",
    "{}",
    "[]",
    "[null]",
    "[1]",
    '["a","b"]',
    '["a\\u0000"]',
    "[null,null]",
    '["2026-01-01",1e400]',
    '["9999999999999999999"]',
    '["not a date","not an id"]',
    '["2026-13-45T99:99:99Z","017f22e2-79b0-7cc3-98c4-dc0c0c07398f"]',
    '["+275760-09-13T00:00:00.001Z","017f22e2-79b0-7cc3-98c4-dc0c0c07398f"]',
    "[-1]",
    "[1e308]",
    '["017f22e2-79b0-7cc3-98c4-dc0c0c07398f"]',
    '[9007199254740993,"x"]',
    "[[]]",
  ].map((text) => Buffer.from(text).toString("base64url")),
];

const aHostileValue = fc.oneof(
  { weight: 6, arbitrary: fc.constantFrom(...hostileValues) },
  { weight: 1, arbitrary: fc.string({ unit: "binary", maxLength: 40 }) },
  { weight: 1, arbitrary: fc.double() },
  { weight: 1, arbitrary: fc.json({ maxDepth: 3 }).map((text): unknown => JSON.parse(text)) },
);

/**
 * Requests against one operation: what its contract asks for, and then something in it is made wrong.
 *
 * @param ids  ids that are on record, so that some requests reach further than the first look-up
 */
export function hostileRequests(operation: Operation, ids: readonly string[]): fc.Arbitrary<HostileRequest> {
  const anId = fc.constantFrom(...ids);
  const query = operation.query === undefined ? fc.constant<unknown>({}) : valuesOf(operation.query, anId);
  const body =
    operation.body === undefined ? fc.constant<unknown>(undefined) : valuesOf(operation.body, anId);
  return fc
    .record({
      role: fc.constantFrom(null, ...roles, ...roles, ...roles),
      path: pathsOf(operation, anId),
      query: fc.oneof({ weight: 2, arbitrary: query }, { weight: 1, arbitrary: mutated(query) }),
      cursor: fc.option(fc.constantFrom(...cursors), { freq: 4 }),
      extraQuery: fc.option(
        fc.constantFrom("&limit=1&limit=2", "&__proto__=1", "&%00=1", "&a[b]=1", "&%ff", "&="),
        {
          freq: 8,
        },
      ),
      payload: payloadsOf(operation, body),
      headers: fc.dictionary(fc.constantFrom(...headerNames), fc.constantFrom(...headerValues), {
        maxKeys: 2,
      }),
      key: anId,
    })
    .map(({ role, path, query, cursor, extraQuery, payload, headers, key }) => ({
      role,
      method: operation.method,
      url: `/api${path}${queryText(query, cursor, extraQuery)}`,
      headers: {
        "if-match": '"1"',
        "idempotency-key": key,
        ...(payload.type === null ? {} : { "content-type": payload.type }),
        ...headers,
      },
      payload: payload.content,
    }));
}

function queryText(query: unknown, cursor: string | null, extra: string | null): string {
  const pairs = Object.entries((query ?? {}) as Record<string, unknown>)
    .filter(([, value]) => value !== undefined)
    .map(([name, value]) => {
      const text = typeof value === "string" ? value : (JSON.stringify(value) ?? "");
      return `${encodeSafely(name)}=${encodeSafely(text.slice(0, 6_000))}`;
    });
  if (cursor !== null) pairs.push(`cursor=${encodeSafely(cursor)}`);
  const text = pairs.join("&") + (extra ?? "");
  return text === "" ? "" : `?${text}`;
}

/** Half of a surrogate pair has no percent-encoding; it travels as the three bytes that some clients make of it. */
function encodeSafely(text: string): string {
  return text.isWellFormed() ? encodeURIComponent(text) : "%ED%A0%80";
}

function pathsOf(operation: Operation, anId: fc.Arbitrary<string>): fc.Arbitrary<string> {
  const wrong = fc.constantFrom(
    "x",
    "0",
    "-1",
    "%00",
    "%ff",
    "%ED%A0%80",
    "..%2f..%2fetc%2fpasswd",
    "null",
    "undefined",
    "a".repeat(150),
    "a".repeat(3_000),
    "017F22E2-79B0-7CC3-98C4-DC0C0C07398F",
    "'%20OR%201=1",
    "%F0%9F%92%A9",
    "1e400",
    "%7B%7D",
  );
  const part = fc.oneof({ weight: 4, arbitrary: anId }, { weight: 1, arbitrary: wrong });
  const names = operation.path.match(/:\w+/g) ?? [];
  return fc
    .tuple(...names.map(() => part))
    .map((parts) =>
      names.reduce((path, name, at) => path.replace(name, () => parts[at] ?? ""), operation.path),
    );
}

function payloadsOf(
  operation: Operation,
  body: fc.Arbitrary<unknown>,
): fc.Arbitrary<{ content: string | Buffer | undefined; type: string | null }> {
  if (operation.method === "GET") return fc.constant({ content: undefined, type: null });
  const json = "application/json";
  const texts = (values: fc.Arbitrary<unknown>) =>
    values.map((value) => ({ content: jsonText(value), type: json as string | null }));
  const whole = fc.record({
    content: fc.constantFrom(...hostileBodies),
    type: fc.oneof(
      { weight: 3, arbitrary: fc.constant<string | null>(json) },
      { weight: 1, arbitrary: fc.constantFrom<string | null>(null, ...contentTypes) },
    ),
  });
  const uploads = fc
    .record({
      name: fc.constantFrom("file", "other", "", "__proto__", "a\\r\\nb"),
      fileName: fc.constantFrom(
        "a.csv",
        "../../x.pdf",
        "a\u202egpj.exe",
        "",
        `${"n".repeat(400)}.csv`,
        "CON",
      ),
      type: fc.constantFrom("text/csv", "application/pdf", "image/svg+xml", "image/png", "", "text/html"),
      bytes: fc.oneof(
        fc.constantFrom(...hostileBodies.map((content) => Buffer.from(content))),
        fc.uint8Array({ maxLength: 300 }).map((bytes) => Buffer.from(bytes)),
        fc
          .constantFrom("a,b\r\n1,2\r\n", "%PDF-1.7\n", "\x89PNG\r\n\x1a\n", "PK\x03\x04")
          .map((text) => Buffer.from(text, "latin1")),
      ),
      end: fc.constantFrom("\r\n--edge--\r\n", "\r\n--edge", "", "\r\n--edge--\r\n--edge--\r\n"),
    })
    .map(({ name, fileName, type, bytes, end }) => ({
      content: Buffer.concat([
        Buffer.from(
          `--edge\r\nContent-Disposition: form-data; name="${name}"; filename="${fileName}"\r\nContent-Type: ${type}\r\n\r\n`,
        ),
        bytes,
        Buffer.from(end),
      ]),
      type: "multipart/form-data; boundary=edge" as string | null,
    }));
  return fc.oneof(
    { weight: 3, arbitrary: texts(body) },
    { weight: 6, arbitrary: texts(mutated(body)) },
    { weight: 2, arbitrary: whole },
    ...(operation.upload === true ? [{ weight: 12, arbitrary: uploads }] : []),
  );
}

function jsonText(value: unknown): string {
  return (JSON.stringify(value) ?? "").replaceAll(/"raw:([^"]+)"/g, "$1");
}

/** The same value with one to three places of it made wrong, taken away or added to. */
function mutated(values: fc.Arbitrary<unknown>): fc.Arbitrary<unknown> {
  const change = fc.record({
    how: fc.constantFrom("replace", "replace", "replace", "remove", "add", "wrap"),
    where: fc.nat({ max: 10_000 }),
    value: aHostileValue,
    key: fc.constantFrom(...hostileKeys),
  });
  return fc
    .tuple(values, fc.array(change, { minLength: 1, maxLength: 3 }))
    .map(([value, changes]) => changes.reduce((now: unknown, one) => changed(now, one), value));
}

function changed(
  root: unknown,
  { how, where, value, key }: { how: string; where: number; value: unknown; key: string },
): unknown {
  const places: (string | number)[][] = [];
  const walk = (node: unknown, path: (string | number)[]): void => {
    places.push(path);
    if (typeof node !== "object" || node === null || path.length > 12) return;
    for (const [name, part] of Object.entries(node).slice(0, 40)) {
      walk(part, [...path, Array.isArray(node) ? Number(name) : name]);
    }
  };
  walk(root, []);
  return at(root, places[where % places.length] ?? [], (node) => {
    if (how === "remove") return undefined;
    if (how === "wrap") return [node];
    if (how === "add" && typeof node === "object" && node !== null && !Array.isArray(node)) {
      return Object.fromEntries([...Object.entries(node), [key, value]]);
    }
    return value;
  });
}

function at(node: unknown, path: readonly (string | number)[], change: (node: unknown) => unknown): unknown {
  const [name, ...rest] = path;
  if (name === undefined) return change(node);
  if (Array.isArray(node)) return node.map((part, index) => (index === name ? at(part, rest, change) : part));
  const entries = Object.entries(node as object).map(([key, part]) => [
    key,
    key === name ? at(part, rest, change) : part,
  ]);
  return Object.fromEntries(entries);
}

/** Values that a shape of the contract asks for, by what its JSON Schema says; not every one passes its refinements. */
function valuesOf(schema: z.ZodType, anId: fc.Arbitrary<string>): fc.Arbitrary<unknown> {
  const root = z.toJSONSchema(schema, { io: "input", unrepresentable: "any" }) as Shape;
  const made = (shape: Shape, depth: number): fc.Arbitrary<unknown> => {
    if (depth > 8) return fc.constant(null);
    if (shape.$ref !== undefined) {
      const name = shape.$ref.slice(shape.$ref.lastIndexOf("/") + 1);
      return made(root.$defs?.[name] ?? (shape.$ref === "#" ? root : {}), depth + 1);
    }
    if (shape.const !== undefined) return fc.constant(shape.const);
    if (shape.enum !== undefined) return fc.constantFrom(...shape.enum);
    const choices = shape.anyOf ?? shape.oneOf;
    if (choices !== undefined) return fc.oneof(...choices.map((choice) => made(choice, depth + 1)));
    if (shape.allOf !== undefined)
      return made(Object.assign({}, shape.allOf[0], ...shape.allOf.slice(1)), depth + 1);
    const type = typeof shape.type === "string" ? shape.type : shape.type?.[0];
    if (type === "object") return anObject(shape, depth);
    if (type === "array") {
      if (shape.prefixItems !== undefined)
        return fc.tuple(...shape.prefixItems.map((item) => made(item, depth + 1)));
      const least = shape.minItems ?? 0;
      return fc.array(made(shape.items ?? {}, depth + 1), {
        minLength: Math.min(least, 20),
        maxLength: Math.min(shape.maxItems ?? 3, least + 3),
      });
    }
    if (type === "integer")
      return fc.integer({
        min: atLeast(shape.minimum, -5),
        max: Math.min(shape.maximum ?? 5_000, 2_000_000_000),
      });
    if (type === "number")
      return fc.double({ min: atLeast(shape.minimum, -5), max: shape.maximum ?? 5_000, noNaN: true });
    if (type === "boolean") return fc.boolean();
    if (type === "null") return fc.constant(null);
    if (type === "string") return aText(shape, anId);
    return fc.constant(null);
  };
  const anObject = (shape: Shape, depth: number): fc.Arbitrary<unknown> => {
    const properties = Object.entries(shape.properties ?? {});
    if (properties.length === 0 && typeof shape.additionalProperties === "object") {
      return fc.dictionary(
        aText(shape.propertyNames ?? { minLength: 1 }, anId).map(String),
        made(shape.additionalProperties, depth + 1),
        { maxKeys: 3 },
      );
    }
    const required = new Set(shape.required ?? []);
    return fc.record(Object.fromEntries(properties.map(([name, part]) => [name, made(part, depth + 1)])), {
      requiredKeys: properties.map(([name]) => name).filter((name) => required.has(name)),
    });
  };
  return made(root, 0);
}

function atLeast(minimum: number | undefined, otherwise: number): number {
  return Math.max(minimum ?? otherwise, -2_000_000_000);
}

function aText(shape: Shape, anId: fc.Arbitrary<string>): fc.Arbitrary<unknown> {
  if (shape.format === "date")
    return fc.constantFrom("2026-05-04", "2025-12-31", "2020-02-29", "0001-01-01", "9999-12-31");
  if (shape.format === "date-time") {
    return fc.constantFrom(
      "2026-05-04T12:00:00Z",
      "2026-11-01T01:30:00-04:00",
      "1970-01-01T00:00:00Z",
      "9999-12-31T23:59:59Z",
    );
  }
  if (shape.pattern?.includes("[0-9a-f]{8}-") === true) return anId;
  if (shape.pattern !== undefined) {
    try {
      return fc.stringMatching(new RegExp(shape.pattern), { maxLength: shape.maxLength ?? 40 });
    } catch {
      // Classes of Unicode properties cannot be generated from; letters will do.
    }
  }
  const least = shape.minLength ?? 0;
  return fc.string({
    unit: "grapheme",
    minLength: least,
    maxLength: Math.max(least, Math.min(shape.maxLength ?? 30, 30)),
  });
}
