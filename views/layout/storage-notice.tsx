import type { StorageFault } from "../../server/domain/storage-fault.ts";

/** What is wrong, as the end of "Nothing can be saved: ...". */
export const faultWords: Readonly<Record<StorageFault, string>> = {
  full: "the server’s disk is full",
  "read-only": "the server’s data folder can’t be written to",
  damaged: "the server’s data file is damaged",
  failing: "the server’s disk reports errors",
};

/** On every page while it lasts. What matters at each desk: nothing is lost of what cushions record, and nothing that is
 *  entered here is kept. */
export function StorageNotice({ fault }: { fault: StorageFault }) {
  return (
    <aside class="storage-fault" aria-label="Nothing can be saved">
      <p>
        <strong>Nothing can be saved: {faultWords[fault]}.</strong> Cushions keep their record and send it
        again later; until then their newest minutes are missing here, which says nothing about anybody. Don’t
        enter anything now. Tell whoever looks after the server.
      </p>
    </aside>
  );
}
