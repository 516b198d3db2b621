import { getConnInfo } from "@hono/node-server/conninfo";
import type { Context } from "hono";

/** Where the connection comes from, for throttling only. Headers that a caller could make up are not believed. */
export function remoteAddressOf(context: Context): string {
  // Only a real connection has one: a request made inside the process has no socket.
  if (context.env?.incoming === undefined) return "in-process";
  return getConnInfo(context).remote.address ?? "unknown";
}
