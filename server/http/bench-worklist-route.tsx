import { type BenchTask, WorklistPage } from "../../views/bench/worklist-page.tsx";
import { byWeight } from "../domain/condition/condition-of.ts";
import { instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { certificatesInUseEndingBefore } from "../store/certificates.ts";
import { openFindingsOfUnits } from "../store/findings.ts";
import { countAssessed, lastAssessedAt, unitsNeedingHands } from "../store/unit-assessments.ts";
import { askedTests } from "./asked-tests.ts";
import { benchFrame } from "./bench-frame.ts";
import type { Route } from "./route.ts";

/** More than anyone works through in a day; the list of units pages through the rest. */
const mostRows = 100;
const month = 30 * 24 * millisecondsIn.hour;

export const worklistRoute = (services: Services): Route => ({
  method: "GET",
  path: "/bench",
  needs: "see-bench-worklist",
  handle: async (context) => {
    const keptAside = await services.telemetry.keptAside();
    return context.html(
      <WorklistPage
        frame={benchFrame(services, context, "/bench")}
        tasks={tasksOf(services)}
        assessed={{ units: countAssessed(services.db), lastAt: lastAssessedAt(services.db) }}
        asked={askedTests(services, "bench")}
        keptAside={keptAside}
        ending={certificatesInUseEndingBefore(services.db, instant(services.clock.now() + month))}
      />,
    );
  },
});

function tasksOf({ db }: Services): BenchTask[] {
  const units = unitsNeedingHands(db, mostRows);
  const findings = openFindingsOfUnits(
    db,
    units.map(({ serial }) => serial),
  ).filter(({ judgement }) => judgement !== "refuted");
  return units.flatMap((unit): BenchTask[] => {
    const own = findings.filter((finding) => finding.unit === unit.serial).sort(byWeight);
    const [finding] = own;
    return finding ? [{ ...unit, finding, others: own.length - 1 }] : [];
  });
}
