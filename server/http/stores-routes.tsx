import type { Enrolment } from "../enrolment/enrolment.ts";
import type { Services } from "../services.ts";
import type { Route } from "./route.ts";
import { addUnitRoutes } from "./stores-add-unit-routes.tsx";
import { borrowerRoutes } from "./stores-borrower-routes.tsx";
import { loanListRoute } from "./stores-loan-list-route.tsx";
import { loanNewRoutes } from "./stores-loan-new-routes.tsx";
import { loanRoutes } from "./stores-loan-routes.tsx";
import { pairingRoutes } from "./stores-pairing-routes.tsx";
import { recallRoutes } from "./stores-recall-routes.tsx";
import { recallWorkRoutes } from "./stores-recall-work-routes.tsx";
import { unitRoutes } from "./stores-unit-routes.tsx";
import { visitPlanRoutes } from "./stores-visit-plan-routes.tsx";
import { visitRoutes } from "./stores-visit-routes.tsx";
import { worklistRoute } from "./stores-worklist-route.tsx";

/** Everything the Stores desk can do. Pages with a fixed name come before those named by what they show. */
export const storesRoutes = (services: Services, enrolment: Enrolment): readonly Route[] => [
  worklistRoute(services),
  loanListRoute(services),
  ...loanNewRoutes(services),
  ...loanRoutes(services),
  ...pairingRoutes(services, enrolment),
  ...visitPlanRoutes(services),
  ...visitRoutes(services),
  ...borrowerRoutes(services),
  ...addUnitRoutes(services),
  ...unitRoutes(services),
  ...recallRoutes(services),
  ...recallWorkRoutes(services),
];
