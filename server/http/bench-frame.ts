import type { BenchFrame } from "../../views/bench/frame.ts";
import { benchSections } from "../../views/bench/sections.ts";
import type { Services } from "../services.ts";
import type { AppContext } from "./route.ts";

/** What each page of this desk says of its reader, time and place. `path` marks the section. */
export const benchFrame = (services: Services, context: AppContext, path: string): BenchFrame => ({
  signedIn: context.get("signedIn"),
  zone: services.zone,
  now: services.clock.now(),
  path,
  sections: benchSections,
});
