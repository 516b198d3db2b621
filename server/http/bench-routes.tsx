import type { Services } from "../services.ts";
import { firmwareRoute } from "./bench-firmware-route.tsx";
import { keptAsideRoute } from "./bench-kept-aside-route.tsx";
import { benchModelRoutes } from "./bench-model-routes.tsx";
import { unitRoutes } from "./bench-unit-routes.tsx";
import { unitsRoute } from "./bench-units-route.tsx";
import { worklistRoute } from "./bench-worklist-route.tsx";
import type { Route } from "./route.ts";

/** The technician's desk: cushions, never the people on them. */
export const benchRoutes = (services: Services): readonly Route[] => [
  worklistRoute(services),
  unitsRoute(services),
  ...unitRoutes(services),
  ...benchModelRoutes(services),
  firmwareRoute(services),
  keptAsideRoute(services),
];
