/** Where to go after signing in: a path of ours, or the front page. Anything that a browser could read as another
 *  site's address is dropped. */
export function nextPage(asked: string | undefined): string {
  if (asked === undefined || !asked.startsWith("/")) return "/";
  const here = "http://here.invalid";
  // The browser's own rules decide what "//x", "/\x" or a tab in the middle would mean.
  if (!URL.canParse(asked, here)) return "/";
  const url = new URL(asked, here);
  return url.origin === here ? `${url.pathname}${url.search}` : "/";
}
