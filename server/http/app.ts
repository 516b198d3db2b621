import { Hono } from "hono";
import { bodyLimit } from "hono/body-limit";
import { newId } from "../chance.ts";
import type { Services } from "../services.ts";
import { brokenPage, notFoundPage, notSavedPage, tooLargePage } from "./error-pages.tsx";
import { type AppOptions, guarded, isSecure } from "./guard.tsx";
import type { AppEnv, Route } from "./route.ts";
import { securityHeaders } from "./security-headers.ts";

/** No form or request here comes near this. */
const largestBodyBytes = 256 * 1024;

const pathPattern = (path: string): RegExp => new RegExp(`^${path.replaceAll(/:\w+/g, "[^/]+")}$`);

/** The whole console over HTTP. It mounts the routes given and nothing else, each behind what it says it needs.
 *  @throws when two routes claim the same method and path. */
export function createApp(services: Services, routes: readonly Route[], options: AppOptions): Hono<AppEnv> {
  const app = new Hono<AppEnv>();
  app.use(securityHeaders(isSecure(options)));
  const onError = (context: Parameters<typeof tooLargePage>[1]) => tooLargePage(services, context, options);
  const usual = bodyLimit({ maxSize: largestBodyBytes, onError });
  const roomy = routes.flatMap(({ method, path, largestBodyBytes: maxSize }) =>
    maxSize === undefined
      ? []
      : [{ method, path: pathPattern(path), limit: bodyLimit({ maxSize, onError }) }],
  );
  app.use((context, next) => {
    const own = roomy.find(
      ({ method, path }) => method === context.req.method && path.test(context.req.path),
    );
    return (own?.limit ?? usual)(context, next);
  });
  const claimed = new Set<string>();
  for (const route of routes) {
    const claim = `${route.method} ${route.path}`;
    if (claimed.has(claim)) throw new Error(`two routes claim ${claim}`);
    claimed.add(claim);
    app.on(route.method, route.path, guarded(services, route, options));
  }
  app.notFound((context) => notFoundPage(services, context, options));
  app.onError((error, context) => {
    const reference = newId(services.chance, "err");
    services.log.error({ err: error, reference, path: context.req.routePath }, "page failed");
    const fault = options.storage?.failed(error) ?? null;
    if (fault !== null) return notSavedPage(services, context, options, fault);
    return brokenPage(services, context, options, reference);
  });
  return app;
}
