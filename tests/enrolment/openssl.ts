import { spawnSync } from "node:child_process";

/** The `openssl` command reads what we write, independently of the library that wrote it. */
export const opensslIsHere = spawnSync("openssl", ["version"]).status === 0;
if (!opensslIsHere) console.warn("The openssl command is not on this machine: its checks are skipped.");

/** @returns what it printed, on both streams @throws when it fails */
export function openssl(...words: readonly string[]): string {
  const result = spawnSync("openssl", words, { encoding: "utf8" });
  if (result.status !== 0) throw new Error(`openssl ${words.join(" ")}: ${result.stdout}${result.stderr}`);
  return result.stdout + result.stderr;
}

/** As `openssl`, for a command that is expected to fail. */
export function opensslFailure(...words: readonly string[]): string {
  const result = spawnSync("openssl", words, { encoding: "utf8" });
  if (result.status === 0) throw new Error(`openssl ${words.join(" ")} did not fail`);
  return result.stdout + result.stderr;
}
