import type { StoresFrame } from "../../views/stores/frame.ts";
import { storesSections } from "../../views/stores/sections.ts";
import type { StaffActor } from "../programme/staff-actor.ts";
import type { Services } from "../services.ts";
import type { AppContext } from "./route.ts";

/** What each page of this desk says of its reader, time and place. `path` marks the section. */
export const storesFrame = (services: Services, context: AppContext, path: string): StoresFrame => ({
  signedIn: context.get("signedIn"),
  zone: services.zone,
  now: services.clock.now(),
  path,
  sections: storesSections,
});

export const actorOf = (context: AppContext): StaffActor => ({
  kind: "staff",
  id: context.get("signedIn").staff.id,
});
