import type { Context } from "hono";
import { deleteCookie, getCookie, setCookie } from "hono/cookie";
import { absoluteLimit } from "../security/sessions.ts";

/** Under TLS the name itself makes the browser insist on Secure, path / and no domain (RFC 6265bis, 4.1.3.2). */
export const cookieName = (secure: boolean): string => (secure ? "__Host-cushionry" : "cushionry");

const options = (secure: boolean) => ({ httpOnly: true, sameSite: "Lax", path: "/", secure }) as const;

export const sessionTokenOf = (context: Context, secure: boolean): string | undefined =>
  getCookie(context, cookieName(secure));

export function giveSessionCookie(context: Context, secure: boolean, token: string): void {
  setCookie(context, cookieName(secure), token, { ...options(secure), maxAge: absoluteLimit / 1_000 });
}

export function takeSessionCookie(context: Context, secure: boolean): void {
  deleteCookie(context, cookieName(secure), options(secure));
}
