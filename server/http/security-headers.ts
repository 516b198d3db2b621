import type { MiddlewareHandler } from "hono";

const policy = [
  "default-src 'self'",
  "base-uri 'none'",
  "form-action 'self'",
  "frame-ancestors 'none'",
  "object-src 'none'",
].join("; ");

const yearInSeconds = 31_536_000;

/** On every answer. A page is never kept by a cache unless its route says so: it may hold someone's record. */
export const securityHeaders =
  (secure: boolean): MiddlewareHandler =>
  async (context, next) => {
    await next();
    const { headers } = context.res;
    headers.set("Content-Security-Policy", policy);
    headers.set("X-Content-Type-Options", "nosniff");
    headers.set("Referrer-Policy", "same-origin");
    headers.set("Cross-Origin-Opener-Policy", "same-origin");
    headers.set("Cross-Origin-Resource-Policy", "same-origin");
    headers.set("Permissions-Policy", "camera=(), microphone=(), geolocation=()");
    if (secure) headers.set("Strict-Transport-Security", `max-age=${yearInSeconds}`);
    if (!headers.has("Cache-Control")) headers.set("Cache-Control", "no-store");
  };
