import { z } from "zod";
import { AccountPage } from "../../views/account/account-page.tsx";
import type { Problems } from "../../views/layout/forms.tsx";
import { changePassword } from "../security/change-password.ts";
import { passwordProblemWords, shortestPassword } from "../security/passwords.ts";
import { closeSessionsOf } from "../security/sessions.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { staffById } from "../store/staff.ts";
import { readForm } from "./forms.ts";
import { type AppOptions, isSecure } from "./guard.tsx";
import { frameOf } from "./page-frame.ts";
import type { AppContext, Route } from "./route.ts";
import { giveSessionCookie, takeSessionCookie } from "./session-cookie.ts";

const passwordForm = z.object({
  currentPassword: z.string(),
  password: z.string(),
  passwordAgain: z.string(),
});

/** One's own account. */
export function accountRoutes(services: Services, options: AppOptions): readonly Route[] {
  const show = (context: AppContext, problems?: Problems) => {
    const member = staffById(services.db, context.get("signedIn").staff.id);
    return context.html(
      <AccountPage
        frame={frameOf(services, context)}
        login={member?.login ?? ""}
        hasPassword={member?.hasPassword === true}
        changed={context.req.query("changed") !== undefined}
        shortest={shortestPassword}
        {...(problems ? { problems } : {})}
      />,
      problems ? 422 : 200,
    );
  };

  const change = async (context: AppContext) => {
    const form = await readForm(context, passwordForm);
    if (!form.ok) return show(context, form.problems);
    const { currentPassword, password, passwordAgain } = form.value;
    if (password !== passwordAgain) return show(context, { passwordAgain: "The two differ." });
    const { id } = context.get("signedIn").staff;
    const outcome = await changePassword(services, id, { current: currentPassword, chosen: password });
    switch (outcome.kind) {
      case "changed":
        giveSessionCookie(context, isSecure(options), outcome.token);
        return context.redirect("/account?changed", 303);
      case "not-the-current-password":
        return show(context, { currentPassword: "This is not your current password." });
      case "too-many-attempts":
        return show(context, { form: "Too many attempts. Wait 15 minutes, then try again." });
      case "not-acceptable":
        return show(context, { password: passwordProblemWords(outcome.problem) });
    }
  };

  const leaveEverywhere = (context: AppContext) => {
    const { id } = context.get("signedIn").staff;
    services.db.transaction((tx) => {
      closeSessionsOf(tx, id);
      const actor = { kind: "staff", id } as const;
      const at = services.clock.now();
      appendAudit(tx, { at, actor, action: "sign-out-everywhere", subject: `staff:${id}`, detail: {} });
    });
    takeSessionCookie(context, isSecure(options));
    return context.redirect("/sign-in", 303);
  };

  return [
    { method: "GET", path: "/account", needs: "see-own-account", handle: (context) => show(context) },
    { method: "POST", path: "/account/password", needs: "change-own-password", handle: change },
    { method: "POST", path: "/account/sign-out-everywhere", needs: "sign-out", handle: leaveEverywhere },
  ];
}
