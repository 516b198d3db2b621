import { z } from "zod";
import { type StaffId, staffId } from "../domain/ids.ts";
import { openSession } from "../security/sessions.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { staffById } from "../store/staff.ts";
import { nothingHere } from "./error-pages.tsx";
import { readForm } from "./forms.ts";
import { isSecure } from "./guard.tsx";
import { nextPage } from "./next-page.ts";
import type { AppContext, Route } from "./route.ts";
import { giveSessionCookie } from "./session-cookie.ts";
import type { SignInOptions } from "./sign-in-routes.tsx";

const enterAsForm = z.object({ staff: z.string().max(100), next: z.string().max(2_000).optional() });

/** Entering as one of the cast without a password. Without a cast there is no such route at all. */
export function signInAsRoutes(services: Services, options: SignInOptions): readonly Route[] {
  if (options.cast.length === 0) return [];
  if (options.invented !== true) throw new Error("a cast may be entered as only where all data are invented");

  const enterAs = async (context: AppContext) => {
    const form = await readForm(context, enterAsForm);
    const chosen = form.ok ? castMember(staffId(form.value.staff)) : null;
    if (!form.ok || !chosen) return nothingHere(services, context);
    const token = services.db.transaction((tx) => {
      appendAudit(tx, {
        at: services.clock.now(),
        actor: { kind: "staff", id: chosen.id },
        action: "sign-in",
        subject: `staff:${chosen.id}`,
        detail: { how: "as one of the cast" },
      });
      return openSession({ ...services, db: tx }, chosen.id);
    });
    giveSessionCookie(context, isSecure(options), token);
    return context.redirect(nextPage(form.value.next), 303);
  };

  const castMember = (id: StaffId) => {
    const member = options.cast.includes(id) ? staffById(services.db, id) : null;
    return member?.disabledAt === null ? member : null;
  };

  return [{ method: "POST", path: "/sign-in/as", needs: "public", handle: enterAs }];
}
