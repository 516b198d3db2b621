import { z } from "zod";
import { LinkPage, StaffPage } from "../../views/administration/staff-page.tsx";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { staffId } from "../domain/ids.ts";
import { after } from "../domain/units.ts";
import { invitationLifetime } from "../security/invitations.ts";
import {
  type AccountChange,
  disableStaff,
  enableStaff,
  type Invited,
  inviteAgain,
  inviteStaff,
} from "../security/staff-accounts.ts";
import type { Services } from "../services.ts";
import { allStaff, staffById } from "../store/staff.ts";
import { nothingHere } from "./error-pages.tsx";
import { readForm } from "./forms.ts";
import type { AppOptions } from "./guard.tsx";
import { frameOf } from "./page-frame.ts";
import type { AppContext, Route } from "./route.ts";
import { loginField, nameField, roleField } from "./staff-fields.ts";

const inviteForm = z.object({ login: loginField, name: nameField, role: roleField });

const toldWords: Readonly<Record<string, string>> = {
  closed: "The account is closed, and signed out everywhere.",
  opened: "The account is open again.",
};

/** The administrator's list of staff, and what can be done about each. */
export function staffRoutes(services: Services, options: AppOptions): readonly Route[] {
  const show = (context: AppContext, problems?: Problems, typed?: Typed) => {
    const frame = frameOf(services, context);
    const self = frame.signedIn.staff.id;
    const told = toldWords[context.req.query("told") ?? ""];
    return context.html(
      <StaffPage
        frame={frame}
        lines={allStaff(services.db).map((member) => ({ ...member, self: member.id === self }))}
        {...(told ? { told } : {})}
        {...(problems ? { problems } : {})}
        {...(typed ? { typed } : {})}
      />,
      problems ? 422 : 200,
    );
  };

  const invite = async (context: AppContext) => {
    const form = await readForm(context, inviteForm);
    if (!form.ok) return show(context, form.problems, form.typed);
    const answer = inviteStaff(services, context.get("signedIn").staff.id, form.value);
    return answer.kind === "login-taken"
      ? show(context, { login: "Someone has this sign-in name." }, form.value)
      : showLink(context, answer);
  };

  const showLink = (context: AppContext, { staffId: id, token }: Extract<Invited, { kind: "invited" }>) => {
    const frame = frameOf(services, context);
    const name = staffById(services.db, id)?.name ?? "";
    const link = `${options.baseUrl}/set-up/${token}`;
    return context.html(
      <LinkPage frame={frame} name={name} link={link} until={after(frame.now, invitationLifetime)} />,
    );
  };

  const again = (context: AppContext) => {
    const answer = inviteAgain(services, context.get("signedIn").staff.id, named(context));
    return answer.kind === "invited" ? showLink(context, answer) : nothingHere(services, context);
  };

  const close = (context: AppContext) =>
    answered(context, disableStaff(services, context.get("signedIn").staff.id, named(context)), "closed");

  const openAgain = (context: AppContext) =>
    answered(context, enableStaff(services, context.get("signedIn").staff.id, named(context)), "opened");

  const answered = (context: AppContext, change: AccountChange, told: string) => {
    switch (change.kind) {
      case "done":
        return context.redirect(`/staff?told=${told}`, 303);
      case "no-such-account":
        return nothingHere(services, context);
      case "own-account":
        return show(context, { form: "You can’t close your own account; another administrator can." });
      case "last-administrator":
        return show(context, { form: "This is the last administrator. Invite another first." });
    }
  };

  const named = (context: AppContext) => staffId(context.req.param("id") ?? "");

  return [
    { method: "GET", path: "/staff", needs: "manage-staff", handle: (context) => show(context) },
    { method: "POST", path: "/staff", needs: "manage-staff", handle: invite },
    { method: "POST", path: "/staff/:id/invite", needs: "manage-staff", handle: again },
    { method: "POST", path: "/staff/:id/disable", needs: "manage-staff", handle: close },
    { method: "POST", path: "/staff/:id/enable", needs: "manage-staff", handle: openAgain },
  ];
}
