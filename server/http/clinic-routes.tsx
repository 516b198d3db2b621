import type { Services } from "../services.ts";
import { calibrationRoute } from "./clinic-calibration-route.tsx";
import { gapRoutes } from "./clinic-gap-routes.tsx";
import { identityRoutes } from "./clinic-identity-routes.tsx";
import { linesRoute } from "./clinic-lines-route.tsx";
import { personRoutes } from "./clinic-person-routes.tsx";
import { worklistRoute } from "./clinic-worklist-route.tsx";
import type { Route } from "./route.ts";

/** The clinician's desk. */
export const clinicRoutes = (services: Services): readonly Route[] => [
  worklistRoute(services),
  calibrationRoute(services),
  ...personRoutes(services),
  linesRoute(services),
  ...gapRoutes(services),
  ...identityRoutes(services),
];
