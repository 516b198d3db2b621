import { asset, assetNames } from "../../views/assets/addresses.ts";
import type { Route } from "./route.ts";

/** Style sheet and scripts. The address that a page gives carries the content's digest, so it may be kept for ever;
 *  any other address of the same file is asked for again each time. */
export const assetRoutes: readonly Route[] = assetNames.map((name) => ({
  method: "GET",
  path: `/assets/${name}`,
  needs: "public",
  handle: (context) => {
    const { type, text, version } = asset(name);
    const kept = context.req.query("v") === version;
    const etag = `"${version}"`;
    const headers = {
      "Content-Type": type,
      "Cache-Control": kept ? "public, max-age=31536000, immutable" : "no-cache",
      ETag: etag,
    };
    if (context.req.header("if-none-match") === etag) return context.body(null, 304, headers);
    return context.body(text, 200, headers);
  },
}));
