import { readFileSync } from "node:fs";
import { isDeepStrictEqual } from "node:util";
import fc from "fast-check";
import { afterAll, describe, expect, it, vi } from "vitest";
import { z } from "zod";
import { messageCodes } from "../../firmware-protocol/src/envelope.ts";
import { maximumUplinkBytes } from "../../firmware-protocol/src/limits.ts";
import { writeLogFile } from "../../firmware-protocol/src/log-file.ts";
import { type Answer, answersTo, CBuild, compiler, hasCompiler, sanitized, strict } from "./c-build.ts";
import { deepestStack } from "./c-stack.ts";
import { encoded, hostile } from "./hostile-bytes.ts";
import {
  accepted,
  asJson,
  bytesOf,
  type Direction,
  decode,
  encode,
  forgetting,
  hexOf,
  rejected,
} from "./vectors.ts";

// Compilers on a busy machine take their time.
vi.setConfig({ testTimeout: 120_000 });

if (!hasCompiler)
  console.warn(`No C compiler (${compiler}) here: the C library of the protocol is not tried.`);

const builds: CBuild[] = [];
function newBuild(change?: (text: string) => string): CBuild {
  const made = new CBuild(change);
  builds.push(made);
  return made;
}

const build = newBuild();
const vectorText = (name: string): string =>
  readFileSync(new URL(`../../firmware-protocol/vectors/${name}`, import.meta.url), "utf8");
const readme = readFileSync(new URL("../../firmware-protocol/README.md", import.meta.url), "utf8");
const optimised = hasCompiler ? build.program("vectors_main", ["-O2"]) : null;
const watched = hasCompiler ? build.program("vectors_main", sanitized) : null;
if (hasCompiler && watched === null)
  console.warn("This compiler has no sanitizers: the C library is not watched for stray reads.");

/** What the TypeScript codec makes of the same payload, in the words of the C program. */
function answerOfReference(way: Direction, hex: string): Answer {
  const message = decode(way, bytesOf(hex));
  if (message.kind !== "unreadable")
    return { verdict: "accepted", message: asJson(message), again: hexOf(encode(message)) };
  const { clause, reason, envelope } = message;
  return { verdict: "refused", clause, field: reason.slice(0, reason.indexOf(": ")), envelope };
}

const vectors = [...accepted, ...rejected];
const expectedOf = (vector: (typeof vectors)[number]): unknown =>
  "message" in vector
    ? {
        verdict: "accepted",
        message: vector.message,
        again: vector.writesBack ? vector.hex : expect.any(String),
      }
    : { verdict: "refused", clause: vector.clause, field: vector.field, envelope: vector.envelope };

const programs = [
  { flags: "-O2", program: optimised },
  { flags: "the address and undefined-behaviour sanitizers", program: watched },
].flatMap(({ flags, program }) => (program === null ? [] : [{ flags, program }]));

afterAll(() => {
  for (const used of builds) used.remove();
});

describe.skipIf(!hasCompiler)("the C library", () => {
  it("compiles as C99 with every warning an error", () => {
    expect(optimised).not.toBeNull();
  });

  it("includes nothing but the compiler's own headers and string.h", () => {
    const included = [
      ...`${build.text("cushion.h")}${build.text("cushion.c")}`.matchAll(/^#include (.*)$/gm),
    ];
    expect(included.map(([, header]) => header).sort()).toEqual(
      ['"cushion.h"', "<stdbool.h>", "<stddef.h>", "<stdint.h>", "<string.h>"].sort(),
    );
    expect(build.text("cushion.c")).not.toMatch(/\b(malloc|calloc|realloc|alloca|free)\b/);
  });

  it("needs nothing from outside but the functions on memory of string.h", () => {
    expect(build.run(compiler, [...strict, "-Os", "-c", "cushion.c", "-o", "small.o"])).not.toBeNull();
    const missing = build.run("nm", ["-u", "small.o"])?.match(/\w+$/gm) ?? [];
    const allowed = ["memcmp", "memcpy", "memset", "memchr", "__stack_chk_fail", "_GLOBAL_OFFSET_TABLE_"];
    expect(missing.filter((name) => !allowed.includes(name))).toEqual([]);
  });

  it.each(programs)("takes and refuses every vector as it must, built with $flags", ({ program }) => {
    const answers = answersTo(build, program, vectors, "once");
    expect(answers).toHaveLength(vectors.length);
    for (const [at, vector] of vectors.entries())
      expect(answers[at], vector.name).toEqual(expectedOf(vector));
  });

  it.each(programs)(
    "refuses every accepted vector cut at any byte, and writes past no buffer, built with $flags",
    ({ program }) => {
      const answers = answersTo(build, program, accepted, "thorough");
      expect(answers.filter(({ verdict }) => verdict !== "accepted")).toEqual([]);
    },
  );

  it("means and writes the same as the reference codec, whatever message it is given", () => {
    const payloads = fc
      .sample(encoded, { numRuns: 1500, seed: 20260503 })
      .map(({ way, bytes }) => ({ direction: way, hex: hexOf(bytes) }));
    const program = watched ?? optimised ?? "";
    for (const [at, answer] of answersTo(build, program, payloads, "once").entries())
      expect(answer).toEqual(answerOfReference(payloads[at]?.direction ?? "up", payloads[at]?.hex ?? ""));
  });

  const comparedWithReference = (payloads: readonly { direction: Direction; hex: string }[]): Set<string> => {
    const answers = answersTo(build, watched ?? optimised ?? "", payloads, "once");
    expect(answers).toHaveLength(payloads.length);
    const clauses = new Set<string>();
    for (const [at, { direction, hex }] of payloads.entries()) {
      const expected = answerOfReference(direction, hex);
      // Cheaper than a matcher for each of many thousands.
      if (!isDeepStrictEqual(answers[at], expected)) expect(answers[at], hex).toEqual(expected);
      if (expected.verdict === "refused") clauses.add(expected.clause);
    }
    return clauses;
  };

  it("takes and refuses damaged and random bytes exactly as the reference codec does", () => {
    const payloads = fc
      .sample(hostile, { numRuns: 6000, seed: 20260504 })
      .map(({ way, bytes }) => ({ direction: way, hex: hexOf(bytes) }));
    expect(comparedWithReference(payloads).size).toBeGreaterThan(20);
  });

  it("takes and refuses the vectors with any one byte changed exactly as the reference codec does", () => {
    const edges = [
      0x00, 0x17, 0x18, 0x19, 0x20, 0x40, 0x60, 0x80, 0xa0, 0xc0, 0xe0, 0xf4, 0xf6, 0xf9, 0xfb, 0xff,
    ];
    const payloads = vectors
      .filter(({ hex }) => hex.length < 200)
      .flatMap(({ direction, hex }, place) =>
        Array.from({ length: hex.length / 2 }, (_, at) => {
          const byte = edges[(at + place) % edges.length] ?? 0;
          return {
            direction,
            hex: hex.slice(0, 2 * at) + hexOf(Uint8Array.of(byte)) + hex.slice(2 * at + 2),
          };
        }),
      );
    expect(payloads.length).toBeGreaterThan(20_000);
    expect(comparedWithReference(payloads).size).toBeGreaterThan(50);
  });

  it.each(forgetting)("forgets on a receipt exactly what it may: $name", ({ receipt, held, forgets }) => {
    const pairs = (names: readonly (readonly [number, number])[]): string =>
      names.map(([boot, sequence]) => ` ${boot}:${sequence}`).join("");
    const line = `forget ${receipt}${pairs(held)}\n`;
    expect(build.run(watched ?? optimised ?? "", [], line)).toBe(`forgets${pairs(forgets)}\n`);
  });

  it("writes a log file exactly as the reference codec does, and the generator’s as it stands", () => {
    const whole = z
      .array(z.object({ name: z.string(), hex: z.string(), records: z.array(z.string()) }))
      .parse(JSON.parse(vectorText("log-files.json")))
      .find(({ name }) => name === "three records");
    const program = watched ?? optimised ?? "";
    const written = (unit: string, payloads: readonly string[]) =>
      build.run(program, [], `log ${unit} ${payloads.join(" ")}\n`)?.trim();
    expect(whole?.records).toHaveLength(3);
    expect(written("CU-4K7M2", whole?.records ?? [])).toBe(whole?.hex);
    const payloads = fc.array(fc.uint8Array({ minLength: 1, maxLength: 300 }), { maxLength: 8 });
    for (const all of fc.sample(payloads, { numRuns: 40, seed: 20260505 }))
      expect(written("CU-000101", all.map(hexOf))).toBe(hexOf(writeLogFile("CU-000101", all)));
    const longest = new Uint8Array(maximumUplinkBytes).fill(7);
    expect(written("CU-000101", [hexOf(longest)])).toBe(hexOf(writeLogFile("CU-000101", [longest])));
    expect(written("CU-000101", [`${hexOf(longest)}07`])).toBeUndefined();
    expect(written("no serial", [])).toBeUndefined();
  });

  it("is used as the README shows", () => {
    const example = /```c\n([^`]+)```/.exec(readme)?.[1] ?? "";
    expect(example).toContain("cushion_encode");
    expect(build.run(compiler, [...strict, "-x", "c", "-fsyntax-only", "-"], example)).not.toBeNull();
  });

  it("refuses to write a message that breaks a clause, and names it", () => {
    const program = build.program("broken_main", watched === null ? ["-O2"] : sanitized);
    if (program === null) throw new Error("broken_main.c does not compile");
    expect(build.run(program, [])).toMatch(/^\d{3} tried, 0 wrong\n$/);
  });

  it("prints its code size and the stack it can need", () => {
    const graphFlags = ["-Os", "-fcallgraph-info=su"];
    if (build.run(compiler, ["-std=c99", ...graphFlags, "-c", "cushion.c", "-o", "graph.o"]) === null) {
      console.warn("This compiler writes no call graph: stack use is not printed.");
      return;
    }
    report("this machine", "size", "graph.o");
    const thumb = ["-mcpu=cortex-m0plus", "-mthumb"];
    if (
      build.run("arm-none-eabi-gcc", [
        "-std=c99",
        ...thumb,
        ...graphFlags,
        "-c",
        "cushion.c",
        "-o",
        "graph.o",
      ]) !== null
    )
      report("Cortex-M0+", "arm-none-eabi-size", "graph.o");
    else console.info("No arm-none-eabi-gcc here: no figures for a microcontroller.");
  });
});

/** [FP-3.9] The scan calls itself once for each level, and once more for what lies in the innermost. */
const levels = 9;

function report(machine: string, size: string, object: string): void {
  const bytes = build.run(size, [object])?.split("\n")[1]?.trim().split(/\s+/).slice(0, 3).map(Number) ?? [];
  const graph = build.text("graph.ci");
  const entries = ["cushion_decode_uplink", "cushion_decode_downlink", "cushion_encode"];
  const stacks = entries.map((entry) => `${entry} ${deepestStack(graph, entry, levels)}`);
  console.info(
    `C library on ${machine}, -Os: text, data, bss ${bytes.join(", ")}; stack bytes: ${stacks.join(", ")}`,
  );
  expect(Math.max(...bytes)).toBeLessThan(32 * 1024);
  for (const entry of entries) {
    const stack = deepestStack(graph, entry, levels);
    expect(stack).toBeGreaterThan(100);
    expect(stack).toBeLessThan(4096);
  }
}

describe.skipIf(!hasCompiler)("the checks of the C library", () => {
  const planted: readonly (readonly [string, string, string])[] = [
    ["reads one byte past the end", "width >= s->length - s->at", "width > s->length - s->at"],
    ["takes one column for another", "case RIGHT: return", "case FRONT + 100: return"],
    ["lets keys out of order pass", "if (order >= 0)", "if (order == 0)"],
    ["forgets the reason of a refusal", "m->has_reason != (m->state", "m->has_reason == (m->state"],
  ];

  it.each(planted)("go red where it %s", (_what, from, to) => {
    const wrong = newBuild((text) => {
      expect(text).toContain(from);
      return text.replace(from, to);
    });
    const program = wrong.program("vectors_main", watched === null ? ["-O2"] : sanitized);
    if (program === null) throw new Error("the planted fault does not compile");
    expect(isSound(wrong, program)).toBe(false);
  });

  function isSound(tried: CBuild, program: string): boolean {
    try {
      const answers = answersTo(tried, program, vectors, "thorough");
      return answers.every((answer, at) => {
        const vector = vectors[at];
        if (vector === undefined || answer.verdict === "broken") return false;
        if ("message" in vector)
          return answer.verdict === "accepted" && (!vector.writesBack || answer.again === vector.hex);
        return answer.verdict === "refused" && answer.clause === vector.clause;
      });
    } catch {
      return false;
    }
  }

  it("are green for the library as it is", () => {
    expect(isSound(build, watched ?? optimised ?? "")).toBe(true);
  });

  it("know every message of the protocol", () => {
    const header = build.text("cushion.h");
    for (const [kind, code] of Object.entries(messageCodes))
      expect(header).toMatch(new RegExp(`CUSHION_${kind.toUpperCase().replace("-", "_")} = ${code}\\b`));
  });
});
