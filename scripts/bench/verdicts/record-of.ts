import { nothingElseTold } from "../../../server/domain/record/told-events.ts";
import type {
  RecordedMinute,
  RecordedRelief,
  SequenceHole,
  UnitRecord,
} from "../../../server/domain/record/unit-record.ts";
import {
  celsius,
  decibelMilliwatts,
  type Instant,
  instant,
  kilograms,
  millisecondsIn,
  millivolts,
  probability,
  seconds,
} from "../../../server/domain/units.ts";
import type { Draws } from "./chance.ts";
import type { Delivery } from "./delivery.ts";
import type { Person } from "./person.ts";
import type { SittingLife } from "./reliefs.ts";
import { shiftsOf } from "./shifts.ts";
import type { UnitLife } from "./unit-life.ts";

/** Monday 3 August 2026, 00:00 in London: with the end of summer time in the 90 days. */
export const epoch: Instant = instant(Date.parse("2026-08-02T23:00:00Z"));
export const atMinute = (minute: number): Instant => instant(epoch + minute * millisecondsIn.minute);

/** What the service would hold of the unit once everything that ever arrives is in. */
export function recordOf(
  draws: Draws,
  person: Person,
  life: UnitLife,
  sitting: SittingLife,
  delivery: Delivery,
): UnitRecord {
  return {
    minutes: minutesOf(draws, person, life, sitting, delivery),
    reliefs: reliefsOf(sitting, (at) => (life.on[at] === 1 ? (delivery.arrival[at] ?? -1) : -1)),
    frames: [],
    boots: life.boots.map(({ boot, at, reset }) => ({
      at: atMinute(at),
      receivedAt: atMinute(at),
      boot,
      reset,
      firmware: "1",
      hardware: "A",
      clockSet: true,
      rows: 16,
      columns: 16,
      queued: 0,
    })),
    faults: life.cutOffs.map((at) => ({
      at: atMinute(at),
      receivedAt: atMinute(at),
      code: "battery-cut-off",
      detail: "",
    })),
    holes: delivery.holes.map(
      ({ boot, from, to, after, before, endsAbout, told }): SequenceHole => ({
        boot,
        fromSequence: from,
        toSequence: to,
        after: after === null ? null : atMinute(after),
        before: before === null ? null : atMinute(before),
        ...(endsAbout === null ? {} : { endsAbout: atMinute(endsAbout) }),
        fate: told ? "lost" : "awaited",
      }),
    ),
    ...nothingElseTold,
  };
}

/** Every relief done that the unit could have seen, as if all had been heard. */
export const wholeReliefsOf = (sitting: SittingLife): RecordedRelief[] => reliefsOf(sitting, (at) => at);

function minutesOf(
  draws: Draws,
  person: Person,
  life: UnitLife,
  sitting: SittingLife,
  delivery: Delivery,
): RecordedMinute[] {
  const minutes: RecordedMinute[] = [];
  const warm = { insert: person.roomTemperature };
  const shifts = shiftsOf(draws, sitting, life.seated);
  for (let at = 0; at < life.seated.length; at += 1) {
    const loaded = life.seated[at] === 1;
    const outside = delivery.reach[at] === 2 && at % 7 === 0 ? 0.4 : 0;
    warm.insert += (loaded ? 31 - warm.insert : person.roomTemperature - warm.insert) / 40 - outside;
    const arrives = delivery.arrival[at] ?? -1;
    if (arrives < 0) continue;
    const turned = sitting.turned[at] === 1 ? -1 : 1;
    minutes.push({
      at: atMinute(at),
      receivedAt: atMinute(arrives),
      boot: life.boot[at] ?? 0,
      seat: loaded ? "loaded" : "empty",
      load: kilograms(
        loaded
          ? person.load *
              (sitting.loadFactor[at] ?? 1) *
              (1 - (shifts.lighter[at] ?? 0)) *
              (0.97 + 0.06 * draws.share())
          : 0,
      ),
      centreRight: loaded ? turned * (person.right + (shifts.right[at] ?? 0)) + 4 * (draws.share() - 0.5) : 0,
      centreFront: loaded ? turned * (person.front + (shifts.front[at] ?? 0)) + 4 * (draws.share() - 0.5) : 0,
      cell: millivolts(life.cell[at] ?? 0),
      power: powers[life.power[at] ?? 0] ?? "on-battery",
      temperature: celsius(warm.insert),
      signal: signalOf(draws, person, delivery.reach[at] ?? 0),
    });
  }
  return minutes;
}

const powers = ["on-battery", "charging", "charged"] as const;

function signalOf(draws: Draws, person: Person, reach: number) {
  if (reach === 2) return null;
  return decibelMilliwatts(
    (reach === 1 ? Math.min(person.signal, -87) : person.signal) + 6 * (draws.share() - 0.5),
  );
}

function reliefsOf(sitting: SittingLife, arrivalOf: (at: number) => number): RecordedRelief[] {
  return sitting.reliefs.flatMap(
    ({ at, seenAs, holdSeconds, depth, complete, prompted }): RecordedRelief[] => {
      const arrives = arrivalOf(at);
      if (seenAs === null || arrives < 0) return [];
      const when = { at: atMinute(at), receivedAt: atMinute(arrives) };
      return [
        {
          ...when,
          kind: seenAs,
          hold: seconds(holdSeconds),
          depth: probability(depth),
          outcome: complete ? "complete" : "broken-off",
          prompted,
        },
      ];
    },
  );
}
