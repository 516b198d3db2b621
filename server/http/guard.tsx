import type { Context } from "hono";
import { NotAllowedPage, NotOurFormPage } from "../../views/layout/refusal-pages.tsx";
import { type Action, mayDo, permissions } from "../domain/access/roles.ts";
import { type CurrentSession, sessionOf } from "../security/sessions.ts";
import { sameSecret } from "../security/tokens.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { StorageWatch } from "../store/storage-watch.ts";
import type { AppContext, Route, SignedIn } from "./route.ts";
import { cameFromElsewhere } from "./same-site.ts";
import { sessionTokenOf } from "./session-cookie.ts";

export interface AppOptions {
  /** Where people reach the console; `https` turns on what only TLS makes sense of. */
  readonly baseUrl: string;
  /** A demonstration: pages say that their data are invented. */
  readonly invented?: boolean;
  readonly storage?: StorageWatch;
}

export const isSecure = (options: AppOptions): boolean => new URL(options.baseUrl).protocol === "https:";

/** Wraps a route's handler in everything it takes to reach it: a form sent from our own page, a good session, a role
 *  that the table allows, and the session's form token. */
export function guarded(services: Services, route: Route, options: AppOptions) {
  return async (context: AppContext): Promise<Response> => {
    if (route.method === "POST" && cameFromElsewhere(context, options.baseUrl)) {
      return refuseForm(services, context, route, undefined);
    }
    if (route.needs === "public") return route.handle(context);
    const current = currentSession(services, context, options);
    if (!current) return sendToSignIn(context);
    const signedIn: SignedIn = {
      ...current,
      invented: options.invented === true,
      storageFault: options.storage?.current() ?? null,
    };
    context.set("signedIn", signedIn);
    if (!mayDo(signedIn.staff.role, route.needs)) return refuseRole(services, context, route.needs);
    if (route.method === "POST" && !(await carriesToken(context, signedIn))) {
      return refuseForm(services, context, route, signedIn);
    }
    return route.handle(context);
  };
}

export function currentSession(
  services: Services,
  context: Context,
  options: AppOptions,
): CurrentSession | null {
  const token = sessionTokenOf(context, isSecure(options));
  const renewsItself = context.req.header("cushionry-refresh") !== undefined;
  return token === undefined ? null : sessionOf(services, token, !renewsItself);
}

/** A region that renews itself is told to take the whole page there; a form goes back to the front page, since what
 *  it would have shown is not a page. */
function sendToSignIn(context: Context): Response {
  const url = new URL(context.req.url);
  const back = context.req.method === "GET" ? `${url.pathname}${url.search}` : "/";
  const address = back === "/" ? "/sign-in" : `/sign-in?next=${encodeURIComponent(back)}`;
  if (context.req.header("hx-request") !== undefined) {
    return context.body(null, 401, { "HX-Redirect": address });
  }
  return context.redirect(address, 303);
}

async function carriesToken(context: Context, signedIn: SignedIn): Promise<boolean> {
  const type = context.req.header("content-type") ?? "";
  if (!/^(application\/x-www-form-urlencoded|multipart\/form-data)/i.test(type)) return false;
  const carried = (await context.req.formData()).get("csrf");
  return typeof carried === "string" && sameSecret(carried, signedIn.csrfToken);
}

function refuseRole(services: Services, context: AppContext, action: Action): Response | Promise<Response> {
  const signedIn = context.get("signedIn");
  appendAudit(services.db, {
    at: services.clock.now(),
    actor: { kind: "staff", id: signedIn.staff.id },
    action: "refuse-action",
    subject: `action:${action}`,
    detail: { role: signedIn.staff.role },
  });
  const frame = { signedIn, zone: services.zone, now: services.clock.now() };
  return context.html(<NotAllowedPage frame={frame} action={action} allowed={permissions[action]} />, 403);
}

function refuseForm(
  services: Services,
  context: AppContext,
  route: Route,
  signedIn: SignedIn | undefined,
): Response | Promise<Response> {
  // A stranger's refused form is logged, not audited: anyone could send any number.
  if (signedIn) {
    appendAudit(services.db, {
      at: services.clock.now(),
      actor: { kind: "staff", id: signedIn.staff.id },
      action: "refuse-form",
      subject: `route:${route.path}`,
      detail: { reason: "no form token" },
    });
  }
  services.log.warn({ route: route.path }, "form refused");
  const frame = { signedIn, zone: services.zone, now: services.clock.now() };
  return context.html(<NotOurFormPage frame={frame} />, 403);
}
