import {
  chmodSync,
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  statSync,
  writeSync,
} from "node:fs";
import { dirname } from "node:path";

const ownerOnlyFile = 0o600;
const ownerOnlyFolder = 0o700;
const everyoneElse = 0o077;

/** Something about the key files that a person has to put right before the service may start. */
export class KeyFileProblem extends Error {
  override readonly name = "KeyFileProblem";
}

export function makeSecretFolder(path: string): void {
  mkdirSync(path, { recursive: true, mode: ownerOnlyFolder });
}

/** Whole or not at all, and on the disk before this returns: a crash leaves the old file or the new one. */
export function writeSecretFile(path: string, content: string): void {
  const unfinished = `${path}.unfinished`;
  const file = openSync(unfinished, "w", ownerOnlyFile);
  try {
    // The mode above counts only for a file that was not there.
    chmodSync(unfinished, ownerOnlyFile);
    writeSync(file, content);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
  renameSync(unfinished, path);
  syncFolder(dirname(path));
}

/** Makes a rename in this folder survive a power cut. */
export function syncFolder(path: string): void {
  const folder = openSync(path, "r");
  try {
    fsyncSync(folder);
  } finally {
    closeSync(folder);
  }
}

/** @throws KeyFileProblem when others could have read it, or we can't */
export function readSecretFile(path: string): string {
  assertOwnerOnly(path);
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    throw new KeyFileProblem(`The key file ${path} can't be read (${messageOf(error)}).`);
  }
}

export function readOrMakeSecretFile(path: string, make: () => string): string {
  if (!existsSync(path)) writeSecretFile(path, make());
  return readSecretFile(path);
}

/** @throws KeyFileProblem naming the command that closes a file or folder open to others */
export function assertOwnerOnly(path: string): void {
  const found = statOf(path);
  if ((found.mode & everyoneElse) === 0) return;
  const mode = (found.mode & 0o777).toString(8).padStart(4, "0");
  const wanted = found.isDirectory() ? "700" : "600";
  throw new KeyFileProblem(
    `${path} is open to other users of this machine (mode ${mode}). If nobody else could have copied it, ` +
      `close it with "chmod ${wanted} ${path}" and start again; otherwise treat the keys as lost.`,
  );
}

function statOf(path: string) {
  try {
    return statSync(path);
  } catch (error) {
    throw new KeyFileProblem(`The key file ${path} can't be read (${messageOf(error)}).`);
  }
}

const messageOf = (error: unknown): string => (error instanceof Error ? error.message : String(error));
