import { z } from "zod";
import { LinkNoLongerWorksPage, SetUpPage } from "../../views/account/set-up-page.tsx";
import { type Problems, type Typed, typedText } from "../../views/layout/forms.tsx";
import { openInvitation } from "../security/invitations.ts";
import { passwordProblem, passwordProblemWords, shortestPassword } from "../security/passwords.ts";
import { openSession } from "../security/sessions.ts";
import { setUpAdministrator, type TakenUp, takeUpInvitation } from "../security/take-up-invitation.ts";
import type { Services } from "../services.ts";
import { type StaffMember, staffById } from "../store/staff.ts";
import { type FormRead, readForm } from "./forms.ts";
import { type AppOptions, isSecure } from "./guard.tsx";
import type { AppContext, Route } from "./route.ts";
import { giveSessionCookie } from "./session-cookie.ts";
import { loginField, nameField } from "./staff-fields.ts";

const passwords = { password: z.string(), passwordAgain: z.string() };
const invitedForm = z.object(passwords);
const firstForm = z.object({ ...passwords, login: loginField, name: nameField });

/** Where one-time links lead: the first administrator's set-up, and each invitation. */
export function setUpRoutes(services: Services, options: AppOptions): readonly Route[] {
  const frame = () => ({ zone: services.zone, now: services.clock.now() });
  const tokenOf = (context: AppContext): string => context.req.param("token") ?? "";

  const noLongerWorks = (context: AppContext) => context.html(<LinkNoLongerWorksPage frame={frame()} />, 410);

  const show = (context: AppContext, invited: StaffMember | null, problems?: Problems, typed?: Typed) =>
    context.html(
      <SetUpPage
        frame={frame()}
        address={context.req.path}
        invited={invited}
        typed={{ login: typedText(typed, "login"), name: typedText(typed, "name") }}
        shortest={shortestPassword}
        {...(problems ? { problems } : {})}
      />,
      problems ? 422 : 200,
    );

  /** undefined: the link no longer works; null: it sets up the first administrator. */
  const invitedBy = (context: AppContext): StaffMember | null | undefined => {
    const invitation = openInvitation(services, tokenOf(context));
    if (!invitation) return undefined;
    return invitation.staffId === null ? null : (staffById(services.db, invitation.staffId) ?? undefined);
  };

  const open = (context: AppContext) => {
    const invited = invitedBy(context);
    return invited === undefined ? noLongerWorks(context) : show(context, invited);
  };

  const choose = async (context: AppContext) => {
    const invited = invitedBy(context);
    if (invited === undefined) return noLongerWorks(context);
    const form = await readChosen(context, invited);
    if (!form.ok) return show(context, invited, form.problems, form.typed);
    const { login, name, password, passwordAgain } = form.value;
    const typed: Typed = { login, name };
    const problem = passwordProblem(password, login);
    if (problem) return show(context, invited, { password: passwordProblemWords(problem) }, typed);
    if (password !== passwordAgain) {
      return show(context, invited, { passwordAgain: "The two differ." }, typed);
    }
    const token = tokenOf(context);
    const taken: TakenUp = invited
      ? await takeUpInvitation(services, token, password)
      : await setUpAdministrator(services, token, { login, name, password });
    switch (taken.kind) {
      case "link-no-longer-works":
        return noLongerWorks(context);
      case "login-taken":
        return show(context, invited, { login: "Someone has this sign-in name." }, typed);
      case "taken-up":
        giveSessionCookie(context, isSecure(options), openSession(services, taken.staffId));
        return context.redirect("/", 303);
    }
  };

  return [
    { method: "GET", path: "/set-up/:token", needs: "public", handle: open },
    { method: "POST", path: "/set-up/:token", needs: "public", handle: choose },
  ];
}

/** An invited person's names were chosen by whoever invited them. */
async function readChosen(
  context: AppContext,
  invited: StaffMember | null,
): Promise<FormRead<z.output<typeof firstForm>>> {
  if (!invited) return readForm(context, firstForm);
  const form = await readForm(context, invitedForm);
  return form.ok ? { ok: true, value: { ...form.value, login: invited.login, name: invited.name } } : form;
}
