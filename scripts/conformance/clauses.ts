import { readFileSync } from "node:fs";

const folder = new URL("../../firmware-protocol/", import.meta.url);
const clausePattern = /^- \[(FP-\d+\.\d+)\]/gm;

/** The number of every clause of SPEC.md, in its order. */
export const readClauses = (): readonly string[] =>
  [...readFileSync(new URL("SPEC.md", folder), "utf8").matchAll(clausePattern)].map(([, id = ""]) => id);

export interface Vector {
  readonly direction: "up" | "down";
  readonly hex: string;
  readonly clauses: readonly string[];
  readonly kind: string;
}

function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === "object" && value !== null;
}

function vectorOf(entry: unknown): Vector {
  if (!isRecord(entry)) throw new Error("a vector that is no object");
  const { direction, hex, clauses, clause, message } = entry;
  const said = Array.isArray(clauses) ? clauses.map(String) : [String(clause)];
  const kind = isRecord(message) ? String(message.kind) : "";
  return { direction: direction === "down" ? "down" : "up", hex: String(hex), clauses: said, kind };
}

function readVectors(name: "accepted" | "rejected"): readonly Vector[] {
  const parsed: unknown = JSON.parse(readFileSync(new URL(`vectors/${name}.json`, folder), "utf8"));
  if (!Array.isArray(parsed)) throw new Error(`vectors/${name}.json is no list`);
  return parsed.map(vectorOf);
}

export const acceptedVectors = (): readonly Vector[] => readVectors("accepted");
export const rejectedVectors = (): readonly Vector[] => readVectors("rejected");

/** For each clause about bytes, the kinds of message in which it has something to rule. */
export function kindsByClause(direction: "up" | "down"): ReadonlyMap<string, ReadonlySet<string>> {
  const kinds = new Map<string, Set<string>>();
  for (const vector of acceptedVectors()) {
    if (vector.direction !== direction) continue;
    for (const clause of vector.clauses) {
      const known = kinds.get(clause) ?? new Set<string>();
      kinds.set(clause, known.add(vector.kind));
    }
  }
  return kinds;
}
