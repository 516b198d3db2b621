import { maximumBootsPerReceipt, maximumHolesPerBoot } from "./limits.ts";
import type { Receipt, StoredUpTo } from "./messages.ts";

/** What the server has stored, as as many receipts as the limits of [FP-7.1] and [FP-7.3] ask for. A boot with too
 *  many holes is confirmed only as far as the last hole that fits: saying less is always safe, saying more never. */
export function receiptsFor(stored: readonly StoredUpTo[], serverUnixSeconds: number): Receipt[] {
  const entries = stored.map(withinHoles).sort((left, right) => left.boot - right.boot);
  const receipts: Receipt[] = [];
  for (let from = 0; from < entries.length; from += maximumBootsPerReceipt)
    receipts.push({
      kind: "receipt",
      stored: entries.slice(from, from + maximumBootsPerReceipt),
      serverUnixSeconds,
    });
  return receipts;
}

function withinHoles(entry: StoredUpTo): StoredUpTo {
  const tooMany = entry.holes[maximumHolesPerBoot];
  if (tooMany === undefined) return entry;
  return { boot: entry.boot, through: tooMany[0] - 1, holes: entry.holes.slice(0, maximumHolesPerBoot) };
}
