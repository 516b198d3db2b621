import type { Enrolment } from "./enrolment/enrolment.ts";
import { accountRoutes } from "./http/account-routes.tsx";
import { askedTestRoutes } from "./http/asked-tests.ts";
import { assetRoutes } from "./http/assets-routes.ts";
import { auditRoutes } from "./http/audit-routes.tsx";
import { benchEquipmentRoutes } from "./http/bench-equipment-routes.tsx";
import { type LoadLog, logRoutes } from "./http/bench-log-routes.tsx";
import { benchRoutes } from "./http/bench-routes.tsx";
import { benchSessionRoutes } from "./http/bench-session-routes.tsx";
import { certificateRoutes } from "./http/certificate-routes.tsx";
import { clinicRoutes } from "./http/clinic-routes.tsx";
import { enrolRoutes } from "./http/enrol-route.ts";
import { frontRoutes } from "./http/front-route.ts";
import { healthRoutes, type ReadinessChecks } from "./http/health-routes.ts";
import { incidentRoutes } from "./http/incident-routes.tsx";
import { liveRoutes } from "./http/live-routes.ts";
import { type MetricsOffer, metricsRoutes } from "./http/metrics-routes.ts";
import type { Route } from "./http/route.ts";
import { setUpRoutes } from "./http/set-up-routes.tsx";
import { settingsRoutes } from "./http/settings-routes.tsx";
import { signInAsRoutes } from "./http/sign-in-as-routes.ts";
import { type SignInOptions, signInRoutes } from "./http/sign-in-routes.tsx";
import { staffRoutes } from "./http/staff-routes.tsx";
import { storesRoutes } from "./http/stores-routes.tsx";
import type { Services } from "./services.ts";

export interface RouteParts {
  readonly services: Services;
  readonly enrolment: Enrolment;
  readonly options: SignInOptions;
  readonly readiness: ReadinessChecks;
  /** Left out: nobody scrapes. */
  readonly metrics?: MetricsOffer | null;
  /** Takes in what was read off a unit over a cable. */
  readonly loadLog: LoadLog;
  /** Ends what would otherwise stay open. */
  readonly stopping: AbortSignal;
}

/** Every route of the console: nothing else answers. */
export const allRoutes = ({
  services,
  enrolment,
  options,
  readiness,
  metrics = null,
  loadLog,
  stopping,
}: RouteParts): readonly Route[] => [
  ...frontRoutes,
  ...assetRoutes,
  ...healthRoutes(readiness),
  ...metricsRoutes(metrics),
  ...signInRoutes(services, options),
  ...signInAsRoutes(services, options),
  ...setUpRoutes(services, options),
  ...accountRoutes(services, options),
  ...liveRoutes(services, options, stopping),
  ...staffRoutes(services, options),
  ...settingsRoutes(services),
  ...auditRoutes(services),
  ...enrolRoutes(services, enrolment),
  ...storesRoutes(services, enrolment),
  ...benchRoutes(services),
  ...benchSessionRoutes(services, enrolment),
  ...benchEquipmentRoutes(services),
  ...logRoutes(services, loadLog),
  ...certificateRoutes(services, enrolment, options),
  ...clinicRoutes(services),
  ...incidentRoutes(services),
  ...askedTestRoutes(services),
];
