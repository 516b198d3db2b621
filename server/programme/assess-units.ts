import type { UnitSerial } from "../domain/ids.ts";
import { instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { type Changed, type Look, lookAtUnit, saveLook } from "./assess-unit.ts";
import { judgeAfterFinding } from "./judge-after-finding.ts";

/** So many are saved together, and what they found waits no longer than it takes to look at them. */
export const assessedTogether = 32;

export interface Assessing {
  /** Asked before each unit; false: leave the rest. */
  readonly goOn: () => Promise<boolean>;
  readonly failed: (unit: UnitSerial, error: unknown) => void;
}

/** Brings the findings and conditions of some units up to date with their records, and verdicts with what was found newly.
 *  All are saved in one transaction, for that costs more than what one unit has to save in it. One that fails takes none
 *  of its neighbours with it. */
export async function assessUnits(
  services: Services,
  units: readonly UnitSerial[],
  { goOn, failed }: Assessing,
): Promise<void> {
  const looks: Look[] = [];
  for (const unit of units) {
    if (!(await goOn())) break;
    try {
      const look = await lookAtUnit(services, unit);
      if (look !== null) looks.push(look);
    } catch (error) {
      failed(unit, error);
    }
  }
  for (const { unit, raised, shows } of saved(services, looks, failed)) {
    if (shows) services.live.changed("bench", `unit:${unit}`);
    if (raised.length === 0) continue;
    const since = instant(Math.min(...raised.map((found) => found.since)));
    await judgeAfterFinding(services, unit, since).catch((error: unknown) => failed(unit, error));
  }
}

function saved(services: Services, looks: readonly Look[], failed: Assessing["failed"]): readonly Changed[] {
  const together = (some: readonly Look[]): readonly Changed[] =>
    services.db.transaction((tx) => some.map((look) => saveLook(services, tx, look)), {
      behavior: "immediate",
    });
  if (looks.length === 0) return [];
  try {
    return together(looks);
  } catch (error) {
    const [only, ...others] = looks;
    if (only === undefined || others.length > 0)
      return looks.flatMap((look) => saved(services, [look], failed));
    failed(only.unit, error);
    return [];
  }
}

/** One alone. @throws what went wrong */
export const assessUnit = (services: Services, unit: UnitSerial): Promise<void> =>
  assessUnits(services, [unit], {
    goOn: async () => true,
    failed: (_, error) => {
      throw error;
    },
  });
