import { spawnSync } from "node:child_process";
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Direction } from "./vectors.ts";

const source = fileURLToPath(new URL("../../firmware-protocol/c/", import.meta.url));
export const strict = "-std=c99 -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror".split(" ");
export const sanitized = ["-O1", "-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"];

export const compiler = process.env.CC ?? "cc";
export const hasCompiler = spawnSync(compiler, ["--version"]).status === 0;

/** A folder with the C sources in it, where a compiler's output can go. */
export class CBuild {
  readonly folder = mkdtempSync(join(tmpdir(), "cushion-c-"));

  constructor(change: (text: string) => string = (text) => text) {
    for (const name of ["cushion.h", "vectors_main.c", "broken_main.c"])
      copyFileSync(join(source, name), join(this.folder, name));
    writeFileSync(join(this.folder, "cushion.c"), change(readFileSync(join(source, "cushion.c"), "utf8")));
  }

  /** @returns what the command wrote; null where there is no such command or it failed */
  run(command: string, args: readonly string[], input = ""): string | null {
    const done = spawnSync(command, args, {
      cwd: this.folder,
      input,
      encoding: "utf8",
      maxBuffer: 1 << 28,
      timeout: 120_000,
    });
    return done.status === 0 ? done.stdout : null;
  }

  /** @returns the program's path, or null where it does not compile without a warning */
  program(main: string, flags: readonly string[]): string | null {
    const name = join(this.folder, `${main}-${flags.length}`);
    return this.run(compiler, [...strict, ...flags, "cushion.c", `${main}.c`, "-o", name]) === null
      ? null
      : name;
  }

  remove(): void {
    rmSync(this.folder, { recursive: true, force: true });
  }

  text(name: string): string {
    return readFileSync(join(this.folder, name), "utf8");
  }
}

/** What the C library makes of one payload, as vectors_main.c tells it. */
export type Answer =
  | { readonly verdict: "accepted"; readonly message: unknown; readonly again: string }
  | {
      readonly verdict: "refused";
      readonly clause: string;
      readonly field: string;
      readonly envelope: unknown;
    }
  | { readonly verdict: "broken"; readonly what: string };

export function answersTo(
  build: CBuild,
  program: string,
  payloads: readonly { readonly direction: Direction; readonly hex: string }[],
  mode: "thorough" | "once",
): readonly Answer[] {
  const input = payloads.map(({ direction, hex }) => `${direction} ${hex}\n`).join("");
  const out = build.run(program, [mode], input);
  if (out === null) throw new Error("the C program ended before it had answered");
  return out.trimEnd().split("\n").map(answerFrom);
}

function answerFrom(line: string): Answer {
  const [verdict, second = "", third = "", fourth = ""] = line.split("\t");
  if (verdict === "accepted") return { verdict, message: JSON.parse(second), again: third };
  if (verdict === "refused") return { verdict, clause: second, field: third, envelope: JSON.parse(fourth) };
  return { verdict: "broken", what: second };
}
