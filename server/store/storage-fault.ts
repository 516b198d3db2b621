import type { StorageFault } from "../domain/storage-fault.ts";

/** By what SQLite (its result codes and their English) or the system (errno) says. The words count as well as the codes:
 *  an error that comes from another thread brings its words alone. */
const signs: readonly (readonly [StorageFault, RegExp])[] = [
  ["full", /SQLITE_FULL|database or disk is full|ENOSPC|EDQUOT|EFBIG/],
  ["read-only", /SQLITE_READONLY|attempt to write a readonly database|EROFS|EACCES|EPERM/],
  ["damaged", /SQLITE_(CORRUPT|NOTADB)|disk image is malformed|file is not a database/],
  ["failing", /SQLITE_(IOERR|CANTOPEN)|disk I\/O error|unable to open database file|EIO\b/],
];

/** null: it is no fault of the storage, as far as the error tells. */
export function storageFaultOf(error: unknown): StorageFault | null {
  if (!(error instanceof Error)) return null;
  const said = `${"code" in error ? String(error.code) : ""} ${error.message}`;
  return signs.find(([, sign]) => sign.test(said))?.[0] ?? null;
}
