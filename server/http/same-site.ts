import type { Context } from "hono";

/** Whether a POST came from a page of ours. Browsers say where a form was sent from; a program that isn't a browser
 *  (a cushion) says nothing, and then the token or the code it carries decides alone. */
export function cameFromElsewhere(context: Context, baseUrl: string): boolean {
  const site = context.req.header("sec-fetch-site");
  if (site !== undefined && site !== "same-origin" && site !== "none") return true;
  const origin = context.req.header("origin");
  if (origin === undefined) return false;
  if (origin === new URL(baseUrl).origin) return false;
  // Reached by another name than the configured one (an address, a second name): the browser's own word for it.
  return !URL.canParse(origin) || new URL(origin).host !== context.req.header("host");
}
