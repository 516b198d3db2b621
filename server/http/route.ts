import type { Context } from "hono";
import type { Action, Role } from "../domain/access/roles.ts";
import type { StaffId } from "../domain/ids.ts";
import type { StorageFault } from "../domain/storage-fault.ts";

/** Who is signed in, as every handler but a public one finds it. */
export interface SignedIn {
  readonly staff: { readonly id: StaffId; readonly name: string; readonly role: Role };
  /** Goes into every form as a hidden field named `csrf`. */
  readonly csrfToken: string;
  /** True in a demonstration: every page then says that its data are invented. */
  readonly invented?: boolean;
  /** Why nothing can be saved at the moment: every page then says so. */
  readonly storageFault?: StorageFault | null;
}

export interface AppEnv {
  Variables: {
    /** Set by the session middleware on every route that isn't public. */
    signedIn: SignedIn;
  };
}
export type AppContext = Context<AppEnv>;

/** A route can't exist without saying what it takes to use it: the app mounts nothing else.
 *  `public` routes carry their own proof (a pairing code, a one-time link) or need none (assets, health). */
export interface Route {
  readonly method: "GET" | "POST";
  readonly path: string;
  readonly needs: Action | "public";
  /** Where more may be sent than a form holds. */
  readonly largestBodyBytes?: number;
  readonly handle: (context: AppContext) => Response | Promise<Response>;
}
