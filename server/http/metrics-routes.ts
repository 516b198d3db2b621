import { sameSecret } from "../security/tokens.ts";
import type { Route } from "./route.ts";

export interface MetricsOffer {
  /** What a scraper has to carry. */
  readonly token: string;
  /** Text exposition format 0.0.4; no names of people or units. */
  readonly render: () => string;
}

/** `/metrics`, for a scraper: a machine has no session, so it carries a token of its own (RFC 6750, section 2.1). Where
 *  the operator has set none, the route isn't there. */
export const metricsRoutes = (offer: MetricsOffer | null): readonly Route[] =>
  offer === null
    ? []
    : [
        {
          method: "GET",
          path: "/metrics",
          needs: "public",
          handle: (context) => {
            const [, carried] = /^Bearer +(\S+)$/i.exec(context.req.header("authorization") ?? "") ?? [];
            if (carried === undefined || !sameSecret(carried, offer.token))
              return context.text("A scraper carries the metrics token.\n", 401, {
                "WWW-Authenticate": "Bearer",
              });
            return context.text(offer.render(), 200, {
              "Content-Type": "text/plain; version=0.0.4; charset=utf-8",
              "Cache-Control": "no-store",
            });
          },
        },
      ];
