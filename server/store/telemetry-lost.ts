import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import { payloadOf } from "./telemetry-block.ts";
import type { SequenceRange } from "./telemetry-ranges.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

export interface LostReport extends SequenceRange {
  readonly boot: number;
  /** When the report reached us. */
  readonly receivedAt: Instant;
}

/** What each unit has reported lost from its own store, remembered, since every reading of a record asks for it and
 *  finding it means looking through the unit's whole history. */
export class LostReports {
  readonly #tables: TelemetryTables;
  readonly #byUnit = new Map<UnitSerial, readonly LostReport[]>();

  constructor(tables: TelemetryTables) {
    this.#tables = tables;
  }

  of(unit: UnitSerial): readonly LostReport[] {
    const known = this.#byUnit.get(unit);
    if (known !== undefined) return known;
    const { statements, blocks } = this.#tables;
    const packed = blocks
      .withFaults(unit)
      .flatMap((head) => blocks.messagesOf(head))
      .filter(({ body }) => body.kind === "raw")
      .map(({ body, receivedAt }) => ({ payload: payloadOf(body), receivedAt: instant(receivedAt) }));
    const reports = [...packed, ...statements.faultsOf.all(unit)].flatMap(({ payload, receivedAt }) => {
      const message = decodeUplink(payload);
      if (message.kind !== "fault" || message.lost === null) return [];
      const { boot, fromSequence, toSequence } = message.lost;
      return [{ boot, from: fromSequence, to: toSequence, receivedAt }];
    });
    this.#byUnit.set(unit, reports);
    return reports;
  }

  /** Call after a commit that holds a new report of this unit. */
  changed(unit: UnitSerial): void {
    this.#byUnit.delete(unit);
  }
}
