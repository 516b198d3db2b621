import type { Server } from "node:http";
import { createAdaptorServer } from "@hono/node-server";
import type { Hono } from "hono";
import type { AppEnv } from "./route.ts";

export interface Listening {
  readonly port: number;
  /** Takes no new connection, lets answers under way finish, then cuts what is left. */
  close(): Promise<void>;
}

/** How long an answer under way may take once the service is stopping. */
const graceMilliseconds = 3_000;
const hangUpEveryMilliseconds = 50;

/** Opens the port.
 *  @param port 0 takes any free one
 *  @throws with the system's code (`EADDRINUSE`, `EACCES`) when the port can't be had */
export async function listen(app: () => Hono<AppEnv>, port: number): Promise<Listening> {
  const made = createAdaptorServer({ fetch: (request, env) => app().fetch(request, env) });
  if (!isPlainServer(made)) throw new Error("the adaptor made a server of another kind");
  await new Promise<void>((resolve, reject) => {
    made.once("error", reject);
    made.listen(port, () => {
      made.off("error", reject);
      resolve();
    });
  });
  const address = made.address();
  return {
    port: typeof address === "object" && address !== null ? address.port : port,
    close: () => closeServer(made),
  };
}

const isPlainServer = (server: object): server is Server => "closeIdleConnections" in server;

function closeServer(server: Server): Promise<void> {
  if (!server.listening) return Promise.resolve();
  return new Promise((resolve) => {
    // A connection whose answer has just ended would otherwise be kept for the browser's next question.
    const hangUp = setInterval(() => server.closeIdleConnections(), hangUpEveryMilliseconds);
    const cut = setTimeout(() => server.closeAllConnections(), graceMilliseconds);
    server.close(() => {
      clearInterval(hangUp);
      clearTimeout(cut);
      resolve();
    });
  });
}
