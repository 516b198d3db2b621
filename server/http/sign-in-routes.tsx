import { z } from "zod";
import { SignInPage } from "../../views/account/sign-in-page.tsx";
import type { Problems } from "../../views/layout/forms.tsx";
import type { StaffId } from "../domain/ids.ts";
import { closeSession } from "../security/sessions.ts";
import { signIn } from "../security/sign-in.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { staffById } from "../store/staff.ts";
import { readForm } from "./forms.ts";
import { type AppOptions, currentSession, isSecure } from "./guard.tsx";
import { nextPage } from "./next-page.ts";
import { remoteAddressOf } from "./remote-address.ts";
import type { AppContext, Route } from "./route.ts";
import { giveSessionCookie, sessionTokenOf, takeSessionCookie } from "./session-cookie.ts";

export interface SignInOptions extends AppOptions {
  /** Who may be entered as without a password: in a demonstration only. */
  readonly cast: readonly StaffId[];
}

const signInForm = z.object({
  login: z.string().max(100),
  password: z.string().max(1_000),
  next: z.string().max(2_000).optional(),
});

/** Signing in and out. */
export function signInRoutes(services: Services, options: SignInOptions): readonly Route[] {
  const secure = isSecure(options);

  const show = (context: AppContext, given: { next: string; login: string; problems?: Problems }) => {
    const members = options.cast.map((id) => staffById(services.db, id));
    const cast = members.filter((member) => member !== null && member.disabledAt === null);
    const frame = {
      zone: services.zone,
      now: services.clock.now(),
      invented: options.invented === true,
    };
    return context.html(
      <SignInPage frame={frame} cast={cast.filter((member) => member !== null)} {...given} />,
      given.problems ? 422 : 200,
    );
  };

  const ask = (context: AppContext) => {
    const next = nextPage(context.req.query("next"));
    if (currentSession(services, context, options)) return context.redirect(next, 303);
    return show(context, { next, login: "" });
  };

  const enter = async (context: AppContext) => {
    const form = await readForm(context, signInForm);
    if (!form.ok) {
      const { login, next } = form.typed;
      return show(context, {
        next: nextPage(typeof next === "string" ? next : undefined),
        login: typeof login === "string" ? login : "",
        problems: form.problems,
      });
    }
    const { login, password } = form.value;
    const next = nextPage(form.value.next);
    const answer = await signIn(services, { login, password, address: remoteAddressOf(context) });
    switch (answer.kind) {
      case "signed-in":
        leaveEarlierSession(context);
        giveSessionCookie(context, secure, answer.token);
        return context.redirect(next, 303);
      case "not-accepted":
        return show(context, {
          next,
          login,
          problems: { form: "The name and password don’t belong together, or the account is closed." },
        });
      case "too-many-attempts":
        return show(context, {
          next,
          login,
          problems: {
            form: "Too many attempts. Wait 15 minutes, then try again; the account itself is fine.",
          },
        });
    }
  };

  const leaveEarlierSession = (context: AppContext) => {
    const token = sessionTokenOf(context, secure);
    if (token !== undefined) closeSession(services.db, token);
  };

  const leave = (context: AppContext) => {
    leaveEarlierSession(context);
    takeSessionCookie(context, secure);
    appendAudit(services.db, {
      at: services.clock.now(),
      actor: { kind: "staff", id: context.get("signedIn").staff.id },
      action: "sign-out",
      subject: `staff:${context.get("signedIn").staff.id}`,
      detail: {},
    });
    return context.redirect("/sign-in", 303);
  };

  return [
    { method: "GET", path: "/sign-in", needs: "public", handle: ask },
    { method: "POST", path: "/sign-in", needs: "public", handle: enter },
    { method: "POST", path: "/sign-out", needs: "sign-out", handle: leave },
  ];
}
