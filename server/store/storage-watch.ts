import { closeSync, fsyncSync, openSync, rmSync, writeSync } from "node:fs";
import { join } from "node:path";
import type { StorageFault } from "../domain/storage-fault.ts";
import type { OpenDatabase } from "./database.ts";
import { storageFaultOf } from "./storage-fault.ts";
import type { TelemetryStore } from "./telemetry-port.ts";

/** About what a busy commit needs: less room than this is none. */
const roomBytes = 256 * 1024;
const lookAgainMilliseconds = 2_000;

/** Knows whether anything can be saved: from what fails, and by trying. SQLite alone doesn't tell: on a full disk it
 *  goes on for a while in the room that its log has already. */
export class StorageWatch {
  readonly #dataFolder: string;
  readonly #driver: OpenDatabase["driver"];
  #fault: StorageFault | null = null;
  #lookedAt = Number.NEGATIVE_INFINITY;

  constructor(dataFolder: string, { driver }: OpenDatabase) {
    this.#dataFolder = dataFolder;
    this.#driver = driver;
  }

  /** The same store, watched. */
  over(telemetry: TelemetryStore): TelemetryStore {
    return {
      ...telemetry,
      append: async (batch) => {
        try {
          return await telemetry.append(batch);
        } catch (error) {
          this.failed(error);
          throw error;
        }
      },
    };
  }

  /** Something could not be saved. @returns why, if the storage is to blame */
  failed(error: unknown): StorageFault | null {
    const fault = storageFaultOf(error);
    if (fault === null) return null;
    this.#fault = fault;
    this.#lookedAt = performance.now();
    return fault;
  }

  /** What is wrong as far as known; once something is, tries again every so often whether it still is. */
  current(): StorageFault | null {
    return this.#fault === null ? null : this.look();
  }

  /** Tries, unless that was done a moment ago. */
  look(): StorageFault | null {
    if (performance.now() - this.#lookedAt < lookAgainMilliseconds) return this.#fault;
    this.#lookedAt = performance.now();
    try {
      this.#takeRoom();
      this.#writeDatabase();
      this.#fault = null;
    } catch (error) {
      // A lock held by somebody else passes; what can't be told apart counts as the disk.
      this.#fault = storageFaultOf(error) ?? "failing";
    }
    return this.#fault;
  }

  #takeRoom(): void {
    const file = join(this.#dataFolder, "room.tmp");
    const descriptor = openSync(file, "w", 0o600);
    try {
      let left = roomBytes;
      while (left > 0) left -= writeSync(descriptor, Buffer.alloc(left));
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
      rmSync(file, { force: true });
    }
  }

  /** The header of the file, as it is: SQLite writes the page whether or not the number is another. */
  #writeDatabase(): void {
    const version = Number(this.#driver.pragma("user_version", { simple: true }));
    this.#driver.pragma(`user_version = ${version}`);
  }
}
