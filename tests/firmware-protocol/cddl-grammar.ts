import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parse } from "cddl";
import { z } from "zod";
import { type CborItem, type CborMap, isCborList, isCborMap } from "../../firmware-protocol/src/cbor/item.ts";

/** What the library's parser makes of the parts of CDDL that cushion.cddl uses. */
const literal = z.object({
  Type: z.literal("literal"),
  Value: z.union([z.number(), z.boolean(), z.string()]),
});
const range = z.object({
  Type: z.literal("range"),
  Value: z.object({
    Inclusive: z.literal(true),
    Min: literal.extend({ Value: z.number() }),
    Max: literal.extend({ Value: z.number() }),
  }),
});
const reference = z.object({ Type: z.literal("group"), Value: z.string() });
const controlled = z.object({
  Type: z.enum(["tstr", "bstr"]),
  Operator: z.object({ Type: z.enum(["size", "regexp"]), Value: z.union([range, literal]) }),
});
const property = z.object({
  Name: z.string(),
  Occurrence: z.object({ n: z.number(), m: z.number().or(z.literal(Number.POSITIVE_INFINITY)) }),
  get Type() {
    return types;
  },
});
const list = z.object({ Type: z.literal("array"), Values: z.array(property) });
const plain = z.enum(["any", "bool", "null"]);
const oneType = z.union([plain, literal, range, reference, controlled, list]);
const types: z.ZodType<OneType[]> = z.lazy(() =>
  z.preprocess((found) => (Array.isArray(found) ? found : [found]), z.array(oneType)),
);
const map = z.object({ Type: z.literal("group"), Name: z.string(), Properties: z.array(property) });
const variable = z.object({ Type: z.literal("variable"), Name: z.string(), PropertyType: types });
const rule = z.union([map, variable, list.extend({ Name: z.string() })]);

interface Property {
  readonly Name: string;
  readonly Occurrence: { readonly n: number; readonly m: number };
  readonly Type: readonly OneType[];
}
type OneType =
  | z.infer<typeof plain>
  | z.infer<typeof literal>
  | z.infer<typeof range>
  | z.infer<typeof reference>
  | z.infer<typeof controlled>
  | { readonly Type: "array"; readonly Values: readonly Property[] };
type Rule =
  | { readonly Type: "group"; readonly Name: string; readonly Properties: readonly Property[] }
  | { readonly Type: "variable"; readonly Name: string; readonly PropertyType: readonly OneType[] }
  | { readonly Type: "array"; readonly Name: string; readonly Values: readonly Property[] };

const grammarText = readFileSync(new URL("../../firmware-protocol/cushion.cddl", import.meta.url), "utf8");

/** The library reads no integer keys: `16 => label` is handed to it as `k16: label`, and nothing else is changed. */
const spelled = grammarText.replaceAll(/;.*$/gm, "").replaceAll(/(\d+) => /g, "k$1: ");

export function parsedByLibrary(text: string): ReadonlyMap<string, Rule> {
  const folder = mkdtempSync(join(tmpdir(), "cddl-"));
  const file = join(folder, "grammar.cddl");
  writeFileSync(file, text);
  try {
    const rules: readonly Rule[] = z.array(rule).parse(parse(file));
    return new Map(rules.map((found) => [found.Name, found]));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

export const spelledGrammar = spelled;
const rules = parsedByLibrary(spelled);

/** Whether an item conforms to a rule of cushion.cddl: a matcher of our own over the library's parse. */
export const conforms = (name: string, item: CborItem): boolean => matchesRule(ruleNamed(name), item);

function ruleNamed(name: string): Rule {
  const found = rules.get(name);
  if (found === undefined) throw new Error(`cushion.cddl has no rule ${name}`);
  return found;
}

function matchesRule(found: Rule, item: CborItem): boolean {
  switch (found.Type) {
    case "group":
      return isCborMap(item) && matchesMap(found.Properties, item);
    case "variable":
      return matchesAny(found.PropertyType, item);
    case "array":
      return matchesList(found.Values, item);
  }
}

const matchesAny = (choices: readonly OneType[], item: CborItem): boolean =>
  choices.some((choice) => matches(choice, item));

function matches(type: OneType, item: CborItem): boolean {
  if (type === "any") return true;
  if (type === "bool") return typeof item === "boolean";
  if (type === "null") return item === null;
  switch (type.Type) {
    case "literal":
      return item === type.Value;
    case "range":
      return isWithin(type, item);
    case "group":
      return matchesRule(ruleNamed(type.Value), item);
    case "array":
      return matchesList(type.Values, item);
    case "tstr":
      return typeof item === "string" && type.Operator.Value.Type === "literal"
        ? new RegExp(`^(?:${type.Operator.Value.Value})$`).test(item)
        : false;
    case "bstr":
      return item instanceof Uint8Array && type.Operator.Value.Type === "range"
        ? isWithin(type.Operator.Value, item.length)
        : false;
  }
}

const isWithin = ({ Value: { Min, Max } }: z.infer<typeof range>, item: CborItem): boolean =>
  (typeof item === "number" || typeof item === "bigint") && item >= Min.Value && item <= Max.Value;

/** Greedy, which is enough for a grammar whose lists are all of one kind or of a fixed length. */
function matchesList(parts: readonly Property[], item: CborItem): boolean {
  if (!isCborList(item)) return false;
  let at = 0;
  for (const { Occurrence, Type } of parts) {
    let times = 0;
    for (; at < item.length && times < Occurrence.m; times++, at++) if (!matchesAny(Type, item[at])) break;
    if (times < Occurrence.n) return false;
  }
  return at === item.length;
}

function matchesMap(parts: readonly Property[], item: CborMap): boolean {
  const left = new Map(item);
  for (const { Name, Occurrence, Type } of parts.flatMap(withoutGroups)) {
    if (/^k\d+$/.test(Name)) {
      const key = Number(Name.slice(1));
      if (!left.has(key)) {
        if (Occurrence.n > 0) return false;
      } else if (!matchesAny(Type, left.get(key))) return false;
      left.delete(key);
    } else for (const key of [...left.keys()]) if (matchesRule(ruleNamed(Name), key)) left.delete(key);
  }
  return left.size === 0;
}

function withoutGroups(part: Property): readonly Property[] {
  if (part.Name !== "") return [part];
  const [type] = part.Type;
  if (typeof type !== "object" || type.Type !== "group") throw new Error("a part of a map without a key");
  const group = ruleNamed(type.Value);
  if (group.Type !== "group") throw new Error(`${type.Value} is no group`);
  return group.Properties.flatMap(withoutGroups);
}
