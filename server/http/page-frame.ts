import type { Services } from "../services.ts";
import type { AppContext } from "./route.ts";

/** What every page of a signed-in reader is given. */
export const frameOf = (services: Pick<Services, "zone" | "clock">, context: AppContext) => ({
  signedIn: context.get("signedIn"),
  zone: services.zone,
  now: services.clock.now(),
});
