import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { commandActions } from "../../firmware-protocol/src/downlink.ts";
import { enrolRefusalReasons } from "../../firmware-protocol/src/enrolment.ts";
import { messageCodes } from "../../firmware-protocol/src/envelope.ts";
import {
  maximumBootsPerReceipt,
  maximumCertificateBytes,
  maximumChainLength,
  maximumDepth,
  maximumDownlinkBytes,
  maximumFailedCellsListed,
  maximumHolesPerBoot,
  maximumMinutesPerMessage,
  maximumUplinkBytes,
} from "../../firmware-protocol/src/limits.ts";
import {
  breakOffReasons,
  chargeEnds,
  faultCodes,
  notices,
  powerEvents,
  powerStates,
  refusalReasons,
  relayLinks,
  reliefKinds,
  resetReasons,
  resultStates,
} from "../../firmware-protocol/src/messages.ts";
import { downlinkKinds } from "../../firmware-protocol/src/topics.ts";
import { accepted, asJson, bytesOf, type Direction, decode, encode, hexOf, rejected } from "./vectors.ts";

const folder = new URL("../../firmware-protocol/", import.meta.url);
const textOf = (name: string): string => readFileSync(new URL(name, folder), "utf8");
const spec = textOf("SPEC.md");

const clausePattern = /^- \[(FP-\d+\.\d+)\]( _\(vector\)_)?/gm;
const clauses = [...spec.matchAll(clausePattern)].map(([, id = "", marked]) => ({
  id,
  marked: marked !== undefined,
}));
const clauseIds = new Set(clauses.map(({ id }) => id));

const examplePattern = /^### ([a-z-]+), (\d+) bytes\n\n```hex\n([^`]+)```\n\n```json\n([^`]+)```$/gm;
const examples = [...spec.matchAll(examplePattern)].map(
  ([, name = "", size = "", lines = "", json = ""]) => ({
    name,
    size: Number(size),
    hex: lines.replaceAll(/#.*$/gm, "").replaceAll(/\s/g, ""),
    json: JSON.parse(json),
  }),
);

/** First column of the table whose head begins with this word, with the code beside each where it has one. */
function tableOf(head: string): [string, string][] {
  const table = new RegExp(`^\\| ${head} +\\|.*\\n\\| ---.*\\n((?:\\|.*\\n)+)`, "m").exec(spec)?.[1] ?? "";
  return table
    .trimEnd()
    .split("\n")
    .map((row) => {
      const [, first = "", second = ""] = row.split("|").map((cell) => cell.trim());
      return [first, second];
    });
}

const numbered = (names: readonly string[]): [string, string][] =>
  names.map((name, code) => [name, String(code)]);

const downward: readonly string[] = downlinkKinds;

describe("the worked examples of SPEC.md", () => {
  it("show every message", () => {
    expect(examples.map(({ name }) => name)).toEqual(Object.keys(messageCodes));
  });

  it.each(examples)(
    "$name reads as the text says, and is written back the same",
    ({ name, size, hex, json }) => {
      const way: Direction = downward.includes(name) ? "down" : "up";
      const message = decode(way, bytesOf(hex));
      expect(asJson(message)).toEqual(json);
      expect(hex).toHaveLength(2 * size);
      expect(hexOf(encode(message))).toBe(hex);
    },
  );
});

describe("the clauses of SPEC.md", () => {
  it("have each a number of their own, rising within its section", () => {
    expect(clauseIds.size).toBe(clauses.length);
    for (const section of new Set(clauses.map(({ id }) => id.split(".")[0]))) {
      const numbers = clauses
        .filter(({ id }) => id.split(".")[0] === section)
        .map(({ id }) => Number(id.split(".")[1]));
      expect(numbers).toEqual(numbers.map((_, at) => at + 1));
    }
  });

  it("are each shown by an accepted and a refused vector where they say so, and by none where they don't", () => {
    const marked = clauses.filter((clause) => clause.marked).map(({ id }) => id);
    expect(marked.length).toBeGreaterThan(50);
    expect(new Set(accepted.flatMap((vector) => vector.clauses))).toEqual(new Set(marked));
    expect(new Set(rejected.map((vector) => vector.clause))).toEqual(new Set(marked));
  });

  it("are marked where a reader refuses by them: every clause that the codec can name has its vectors", () => {
    const names = readdirSync(new URL("src/", folder), { recursive: true, encoding: "utf8" });
    const sources = names.filter((name) => name.endsWith(".ts")).map((name) => textOf(`src/${name}`));
    // A clause in quotation marks is one to refuse by; in comments they stand in brackets.
    const refusedBy = sources.flatMap((text) => [...text.matchAll(/"(FP-\d+\.\d+)"/g)].map(([, id]) => id));
    expect(new Set(refusedBy)).toEqual(new Set(clauses.filter(({ marked }) => marked).map(({ id }) => id)));
  });

  it("are all there that the source and the text itself cite", () => {
    const sources = readdirSync(new URL("src/", folder), { recursive: true, encoding: "utf8" });
    const texts = sources.filter((name) => name.endsWith(".ts")).map((name) => textOf(`src/${name}`));
    const others = ["README.md", "cushion.cddl", "asyncapi.yaml", "c/cushion.h", "c/cushion.c"].map(textOf);
    const cited = [spec, ...texts, ...others].flatMap((text) => text.match(/FP-\d+\.\d+/g) ?? []);
    expect(cited.filter((id) => !clauseIds.has(id))).toEqual([]);
  });
});

describe("the limits of SPEC.md", () => {
  it.each([
    ["a message up", maximumUplinkBytes],
    ["a message down", maximumDownlinkBytes],
    ["maps, lists and tags in one another", maximumDepth],
    ["minutes in one message", maximumMinutesPerMessage],
    ["failed cells listed", maximumFailedCellsListed],
    ["certificate request, and each certificate", maximumCertificateBytes],
    ["boots in a receipt", maximumBootsPerReceipt],
    ["holes of a boot", maximumHolesPerBoot],
    ["certificates in a chain", maximumChainLength],
  ])("give %s as the codec has it", (what, limit) => {
    const told = new Map(tableOf("what")).get(what)?.replaceAll(/(\d) (?=\d)/g, "$1") ?? "";
    expect(Number.parseInt(told, 10)).toBe(limit);
  });
});

describe("the tables of SPEC.md", () => {
  it.each([
    ["reset reason", resetReasons],
    ["power state", powerStates],
    ["kind of relief", reliefKinds],
    ["fault", faultCodes],
    ["power event", powerEvents],
    ["charge end", chargeEnds],
    ["relay link", relayLinks],
    ["notice", notices],
    ["result state", resultStates],
    ["refusal reason", refusalReasons],
    ["why broken off", breakOffReasons],
    ["command action", commandActions],
  ])("number every %s as the codec does", (head, names) => {
    expect(tableOf(head)).toEqual(numbered(names));
  });

  it("give every message its number", () => {
    expect(tableOf("message")).toEqual(
      Object.entries(messageCodes).map(([name, code]) => [name, String(code)]),
    );
  });

  it("give every reason for which an enrolment is refused", () => {
    expect(tableOf("refused").map(([reason]) => reason)).toEqual([...enrolRefusalReasons]);
  });
});
