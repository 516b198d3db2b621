import { newId } from "../chance.ts";
import type { FoundNow } from "../domain/condition/findings/found-now.ts";
import { findingId, type UnitSerial } from "../domain/ids.ts";
import { type Turns, twoDevicesIn } from "../domain/link/turn-taking.ts";
import { instant, millisecondsIn, probability } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { clearFinding, openFindingsOf, openOfKind, raiseFinding, refreshFinding } from "../store/findings.ts";

const kind = "two-devices";
/** Assumption: what else writes on in a boot that was over, again and again, is not known. */
const believed = probability(0.95);
/** After so long without a sign it is no longer so. */
const quietFor = 24 * millisecondsIn.hour;

/** Two devices speak under one unit's name: a finding of the unit, until a day has passed without a sign of it. */
export function tellOfTwoDevices(services: Services, unit: UnitSerial, turns: Turns): void {
  const found = foundIn(turns);
  if (found === null) return;
  const { db, clock, chance, live } = services;
  db.transaction(
    (tx) => {
      const at = clock.now();
      const open = openFindingsOf(tx, unit).find((finding) => finding.kind === kind);
      if (open === undefined) raiseFinding(tx, { id: findingId(newId(chance, "finding")), unit, found, at });
      else refreshFinding(tx, open.id, found, instant(Math.min(open.since, found.since)), at);
    },
    { behavior: "immediate" },
  );
  live.changed("bench", `unit:${unit}`);
}

/** @returns the units that were cleared of it */
export function clearTwoDevices({ db, clock, live }: Services): readonly UnitSerial[] {
  const now = clock.now();
  const over = openOfKind(db, kind).filter(({ lastSeenAt }) => lastSeenAt < now - quietFor);
  if (over.length === 0) return [];
  db.transaction(
    (tx) => {
      for (const { id } of over) clearFinding(tx, id, now);
    },
    { behavior: "immediate" },
  );
  const units = over.map(({ unit }) => unit);
  live.changed("bench", ...units.map((unit) => `unit:${unit}` as const));
  return units;
}

function foundIn(turns: Turns): FoundNow | null {
  const devices = twoDevicesIn(turns);
  const [since] = turns.returns;
  if (devices === null || since === undefined) return null;
  const [first, second] = devices;
  const boots =
    first.boot === second.boot
      ? `two boots of number ${first.boot}`
      : `boot ${first.boot} and boot ${second.boot}`;
  return {
    kind,
    where: "",
    level: "act-soon",
    probability: believed,
    since,
    sentence: `Two devices show this unit’s certificate: ${boots} went on writing by turns, and one device writes nothing in a boot that is over. What came in is a mixture of two seats, and each may have forgotten what only the other had sent.`,
    mistakenFor: "a clock that is set back and forth",
    settledBy:
      "Find the other device: a board moved from unit to unit, or a copied key. Then pair this unit anew, which ends the certificate that both show.",
  };
}
