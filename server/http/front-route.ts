import type { Role } from "../domain/access/roles.ts";
import type { Route } from "./route.ts";

const deskOf: Readonly<Record<Role, string>> = {
  coordinator: "/stores",
  technician: "/bench",
  clinician: "/clinic",
  administrator: "/staff",
};

/** The front page is the reader's own desk. */
export const frontRoutes: readonly Route[] = [
  {
    method: "GET",
    path: "/",
    needs: "see-own-account",
    handle: (context) => context.redirect(deskOf[context.get("signedIn").staff.role], 303),
  },
];
