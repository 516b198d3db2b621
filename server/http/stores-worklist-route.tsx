import { WorklistPage } from "../../views/stores/worklist-page.tsx";
import { heldTogether } from "../programme/incident-lines.ts";
import { storesWorklist } from "../programme/stores-worklist.ts";
import type { Services } from "../services.ts";
import { askedTests } from "./asked-tests.ts";
import type { Route } from "./route.ts";
import { storesFrame } from "./stores-frame.ts";

export const worklistRoute = (services: Services): Route => ({
  method: "GET",
  path: "/stores",
  needs: "see-stores-worklist",
  handle: (context) =>
    context.html(
      <WorklistPage
        frame={storesFrame(services, context, "/stores")}
        tasks={storesWorklist(services)}
        asked={askedTests(services, "stores")}
        incidents={heldTogether(services, null).lines}
      />,
    ),
});
