import { accessSync, constants, existsSync, statSync } from "node:fs";
import type Sqlite from "better-sqlite3";
import type { StorageFault } from "../domain/storage-fault.ts";
import { storageFaultOf } from "./storage-fault.ts";

/** The data folder can't be used; the message says why and what to do, for the person who starts the service. */
export class DataFolderError extends Error {
  readonly fault: StorageFault;

  constructor(fault: StorageFault, message: string, cause?: unknown) {
    super(message, { cause });
    this.fault = fault;
  }
}

/** Reading all of a file takes 3 to 4 s a gigabyte. A larger one is read only when it was not closed properly. */
const alwaysReadBytes = 2 * 1024 ** 3;

/** Whether the file is to be read through before it is used. Call it before opening: that makes a log. */
export function wantsChecking(file: string): boolean {
  if (!existsSync(file)) return false;
  return statSync(file).size <= alwaysReadBytes || hasLog(file);
}

/** Reads every page of every table and index (not the bytes of each row: blocks carry a checksum of their own).
 *  @throws DataFolderError when the file is not what was written: better no service than wrong minutes */
export function checkFile(driver: Sqlite.Database, file: string): void {
  const found = driver.pragma("quick_check(1)", { simple: true });
  const missing = missingBytes(driver, file);
  if (missing > 0) throw damaged(file, `${missing} bytes at its end are missing`);
  if (found !== "ok")
    throw damaged(
      file,
      String(found)
        .replace(/^\*\*\*.*\n/, "")
        .replaceAll("\n", "; "),
    );
}

/** While there is a log the end of the file may still be in there. */
function missingBytes(driver: Sqlite.Database, file: string): number {
  if (hasLog(file)) return 0;
  const pages = Number(driver.pragma("page_count", { simple: true }));
  return pages * Number(driver.pragma("page_size", { simple: true })) - statSync(file).size;
}

function hasLog(file: string): boolean {
  const log = `${file}-wal`;
  return existsSync(log) && statSync(log).size > 0;
}

const damaged = (file: string, found: string, cause?: unknown): DataFolderError =>
  new DataFolderError(
    "damaged",
    `${file} is damaged (${found}). Nothing was changed in it. Put the newest backup in its place; cushions still have what no receipt has let them forget, and send it again. Keep the damaged file: part of it can still be read.`,
    cause,
  );

/** The words for what went wrong while opening. */
export function inWords(error: unknown, dataFolder: string, file: string): unknown {
  const found = storageFaultOf(error);
  if (error instanceof DataFolderError || !(error instanceof Error) || found === null) return error;
  // What can't be opened may just be what can't be written to.
  const fault = found === "failing" && !isWritable(dataFolder) ? "read-only" : found;
  if (fault === "damaged") return damaged(file, error.message, error);
  const why: Record<Exclude<StorageFault, "damaged">, string> = {
    full: `There is no room in the data folder ${dataFolder}. Nothing was changed. Make room and start again.`,
    "read-only": `The data folder ${dataFolder} can't be written to. Give the user that runs the service the right to write there, and see that its disk is not mounted read-only.`,
    failing: `The data folder ${dataFolder} can't be used: ${error.message}. The disk may be failing.`,
  };
  return new DataFolderError(fault, why[fault], error);
}

function isWritable(folder: string): boolean {
  try {
    accessSync(folder, constants.W_OK);
    return true;
  } catch {
    return false;
  }
}
