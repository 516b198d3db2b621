import { LogPage, type LogTold } from "../../views/bench/log-page.tsx";
import { type UnitSerial, unitSerial } from "../domain/ids.ts";
import type { StaffActor } from "../programme/staff-actor.ts";
import type { Services } from "../services.ts";
import { unitBySerial } from "../store/units.ts";
import { benchFrame } from "./bench-frame.ts";
import type { AppContext, Route } from "./route.ts";

export type LoadLog = (
  file: Uint8Array,
  unit: UnitSerial,
  actor: StaffActor,
) => Promise<
  ({ readonly kind: "loaded" } & LogTold) | { readonly kind: "refused"; readonly sentence: string }
>;

/** The whole store of a unit: months of messages. */
const largestLogBytes = 32 * 1024 * 1024;
const path = "/bench/units/:serial/log";

export const logRoutes = (services: Services, loadLog: LoadLog): readonly Route[] => [
  {
    method: "GET",
    path,
    needs: "load-unit-log",
    handle: (context) => show(services, context, {}),
  },
  {
    method: "POST",
    path,
    needs: "load-unit-log",
    largestBodyBytes: largestLogBytes,
    handle: (context) => load(services, loadLog, context),
  },
];

function show(
  services: Services,
  context: AppContext,
  shown: { readonly told?: LogTold; readonly problem?: string; readonly status?: 409 | 422 },
) {
  const serial = unitSerial(context.req.param("serial") ?? "");
  if (unitBySerial(services.db, serial) === null) return context.notFound();
  return context.html(
    <LogPage frame={benchFrame(services, context, "/bench/units")} serial={serial} {...shown} />,
    shown.problem === undefined ? 200 : (shown.status ?? 409),
  );
}

async function load(services: Services, loadLog: LoadLog, context: AppContext) {
  const file = (await context.req.formData()).get("log");
  if (!(file instanceof File) || file.size === 0)
    return show(services, context, { problem: "Choose the log file first.", status: 422 });
  const serial = unitSerial(context.req.param("serial") ?? "");
  const actor = { kind: "staff", id: context.get("signedIn").staff.id } as const;
  const outcome = await loadLog(new Uint8Array(await file.arrayBuffer()), serial, actor);
  if (outcome.kind === "refused") return show(services, context, { problem: outcome.sentence });
  return show(services, context, { told: outcome });
}
