import { CalibrationPage, type ClueCount } from "../../views/clinic/calibration-page.tsx";
import { benchSaid, calibrationOf } from "../domain/learning/calibration.ts";
import { firmwareStepsOf } from "../programme/firmware-steps.ts";
import { learnedShares } from "../programme/learned-shares.ts";
import type { Services } from "../services.ts";
import { settingsInForce } from "../store/settings.ts";
import { latestOutcomes } from "../store/stretch-outcomes.ts";
import { benchResultsOnVerdicts } from "../store/test-requests.ts";
import { unitsByFirmware } from "../store/units.ts";
import { clinicFrame } from "./clinic-frame.ts";
import type { AppContext, Route } from "./route.ts";

/** Of the whole programme, without a name: one clinician's people are too few to learn from. */
export const calibrationRoute = (services: Services): Route => ({
  method: "GET",
  path: "/clinic/calibration",
  needs: "see-calibration",
  handle: (context) => showCalibration(services, context),
});

async function showCalibration(services: Services, context: AppContext) {
  const outcomes = latestOutcomes(services.db);
  const settings = settingsInForce(services.db);
  return context.html(
    <CalibrationPage
      frame={clinicFrame(services, context, "/clinic/calibration")}
      calibration={calibrationOf(
        outcomes.flatMap(({ held, side, cause }) => (held ? [{ held, side, cause }] : [])),
      )}
      bench={benchSaid(benchResultsOnVerdicts(services.db))}
      tables={learnedShares(services.db)}
      clues={clueCounts(outcomes)}
      firmware={await newFirmware(services)}
      learnedFrom={settings.learnedFrom}
      learningIsOn={settings.useLearnedShares >= 0.5}
    />,
  );
}

/** Those that most units run. */
const mostVersions = 3;

async function newFirmware(services: Services) {
  const versions = unitsByFirmware(services.db).slice(0, mostVersions);
  const told = await Promise.all(
    versions.map(async ({ firmware }) => ({
      firmware,
      told: await firmwareStepsOf(services, firmware, ["reliefs-counted"]),
    })),
  );
  return told.filter(({ told: { units } }) => units > 0);
}

function clueCounts(outcomes: ReturnType<typeof latestOutcomes>): ClueCount[] {
  const counts = new Map<string, ClueCount>();
  for (const { cause, clues } of outcomes) {
    if (cause === null) continue;
    for (const [clue, value] of clues) {
      const key = `${cause} ${clue} ${value}`;
      counts.set(key, { cause, clue, value, times: (counts.get(key)?.times ?? 0) + 1 });
    }
  }
  return [...counts.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, count]) => count);
}
