import { KeptAsidePage } from "../../views/bench/kept-aside-page.tsx";
import type { Services } from "../services.ts";
import { benchFrame } from "./bench-frame.ts";
import type { Route } from "./route.ts";

export const keptAsideRoute = (services: Services): Route => ({
  method: "GET",
  path: "/bench/kept-aside",
  needs: "see-kept-aside",
  handle: async (context) =>
    context.html(
      <KeptAsidePage
        frame={benchFrame(services, context, "/bench/kept-aside")}
        lines={await services.telemetry.keptAside()}
      />,
    ),
});
