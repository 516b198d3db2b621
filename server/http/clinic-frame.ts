import type { ClinicFrame } from "../../views/clinic/frame.ts";
import type { StaffId } from "../domain/ids.ts";
import type { StaffActor } from "../programme/staff-actor.ts";
import type { Services } from "../services.ts";
import { knownOnAsked } from "./known-on.ts";
import type { AppContext } from "./route.ts";

export const clinicFrame = (services: Services, context: AppContext, path: string): ClinicFrame => ({
  signedIn: context.get("signedIn"),
  zone: services.zone,
  now: services.clock.now(),
  path,
  knownOn: knownOnAsked(services, context)?.day ?? null,
});

export const clinicianOf = (context: AppContext): StaffId => context.get("signedIn").staff.id;

export const clinicActor = (context: AppContext): StaffActor => ({ kind: "staff", id: clinicianOf(context) });
