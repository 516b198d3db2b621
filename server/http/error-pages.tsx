import type { Context } from "hono";
import { BrokenPage, NotFoundPage, NotSavedPage, TooLargePage } from "../../views/layout/refusal-pages.tsx";
import type { StorageFault } from "../domain/storage-fault.ts";
import type { Services } from "../services.ts";
import { type AppOptions, currentSession } from "./guard.tsx";

type Answer = Response | Promise<Response>;

export const notFoundPage = (services: Services, context: Context, options: AppOptions): Answer =>
  context.html(<NotFoundPage frame={frameOf(services, context, options)} />, 404);

export const tooLargePage = (services: Services, context: Context, options: AppOptions): Answer =>
  context.html(<TooLargePage frame={frameOf(services, context, options)} />, 413);

/** Asks the database nothing: it may be what failed. */
export const brokenPage = (
  services: Services,
  context: Context,
  options: AppOptions,
  reference: string,
): Answer =>
  context.html(
    <BrokenPage
      frame={{ zone: services.zone, now: services.clock.now(), invented: options.invented === true }}
      reference={reference}
    />,
    500,
  );

/** Asks the database nothing either. 503: the same request may go through later. */
export const notSavedPage = (
  services: Services,
  context: Context,
  options: AppOptions,
  fault: StorageFault,
): Answer =>
  context.html(
    <NotSavedPage
      frame={{ zone: services.zone, now: services.clock.now(), invented: options.invented === true }}
      fault={fault}
    />,
    503,
  );

/** Whether a route found nothing to show is the route's to say; it shows the same page as an unknown address. */
export function nothingHere(services: Services, context: Context): Answer {
  const frame = { signedIn: context.get("signedIn"), zone: services.zone, now: services.clock.now() };
  return context.html(<NotFoundPage frame={frame} />, 404);
}

function frameOf(services: Services, context: Context, options: AppOptions) {
  const current = currentSession(services, context, options) ?? undefined;
  const invented = options.invented === true;
  return {
    signedIn: current && { ...current, invented },
    zone: services.zone,
    now: services.clock.now(),
    invented,
  };
}
