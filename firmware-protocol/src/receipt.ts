import type { CborItem } from "./cbor/item.ts";
import type { Receipt, StoredUpTo } from "./downlink.ts";
import { count, type Field } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { checkedInteger, type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { maximumBootsPerReceipt, maximumHolesPerBoot } from "./limits.ts";

const stored: Field = { key: 16, name: "stored", clause: "FP-7.1" };
const boot = count(16, "stored.boot", "FP-7.2");
const through = count(16, "stored.through", "FP-7.2");
const holes: Field = { key: 16, name: "stored.holes", clause: "FP-7.3" };
const holeEdge = count(16, "stored.holes", "FP-7.3");
const serverTime = count(17, "serverUnixSeconds", "FP-7.4");

export function readReceipt(fields: FieldReader): Receipt {
  const entries = fields.list(stored).map((item) => readStored(fields, item));
  const wrong = bootsProblem(entries);
  if (wrong !== null) fields.refuse(stored.clause, stored.name, wrong);
  return { kind: "receipt", stored: entries, serverUnixSeconds: fields.integer(serverTime) };
}

function readStored(fields: FieldReader, item: CborItem): StoredUpTo {
  const parts = fields.listItem(stored, item);
  if (parts.length !== 3) fields.refuse(boot.clause, stored.name, "not boot, through and holes");
  const [bootItem, throughItem, holesItem] = parts;
  const entry: StoredUpTo = {
    boot: fields.integerItem(boot, bootItem),
    through: fields.integerItem(through, throughItem),
    holes: fields.listItem(holes, holesItem).map((hole) => readHole(fields, hole)),
  };
  const wrong = holesProblem(entry);
  if (wrong !== null) fields.refuse(holes.clause, holes.name, wrong);
  return entry;
}

function readHole(fields: FieldReader, item: CborItem): readonly [number, number] {
  const edges = fields.listItem(holes, item);
  if (edges.length !== 2) fields.refuse(holes.clause, holes.name, "not first and last sequence");
  return [fields.integerItem(holeEdge, edges[0]), fields.integerItem(holeEdge, edges[1])];
}

export function writeReceipt(out: FieldWriter, receipt: Receipt): void {
  const wrong = bootsProblem(receipt.stored);
  if (wrong !== null) refuseToWrite(stored, wrong);
  out.item(stored, receipt.stored.map(storedItem));
  out.integer(serverTime, receipt.serverUnixSeconds);
}

function storedItem(entry: StoredUpTo): CborItem {
  const wrong = holesProblem(entry);
  if (wrong !== null) refuseToWrite(holes, wrong);
  return [
    checkedInteger(boot, entry.boot),
    checkedInteger(through, entry.through),
    entry.holes.map(([from, to]) => [checkedInteger(holeEdge, from), checkedInteger(holeEdge, to)]),
  ];
}

function bootsProblem(entries: readonly StoredUpTo[]): string | null {
  if (entries.length > maximumBootsPerReceipt)
    return `${entries.length} boots, where at most ${maximumBootsPerReceipt} may stand`;
  const ascending = entries.every((entry, at) => at === 0 || entry.boot > (entries[at - 1]?.boot ?? 0));
  return ascending ? null : "boots not in ascending order";
}

function holesProblem({ holes: gaps, through: last }: StoredUpTo): string | null {
  if (gaps.length > maximumHolesPerBoot)
    return `${gaps.length} holes, where at most ${maximumHolesPerBoot} may stand`;
  let free = 0;
  for (const [from, to] of gaps) {
    if (from < free || to < from || to >= last)
      return "holes overlap, touch, run backwards or reach past the end";
    free = to + 2;
  }
  return null;
}
