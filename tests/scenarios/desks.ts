import { openEnrolment } from "../../server/enrolment/enrolment.ts";
import { createApp } from "../../server/http/app.ts";
import { askedTestRoutes } from "../../server/http/asked-tests.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { storesRoutes } from "../../server/http/stores-routes.tsx";
import { type cast, signedInAs, type TestServices } from "../support/cast.ts";

type Who = keyof typeof cast;

/** The clinic, Stores and the answers of both other desks, asked as browsers ask them. What comes back is what a reader
 *  reads, without the markup. */
export async function desks(services: TestServices) {
  const broker = { host: "localhost", port: 8883 };
  const enrolment = await openEnrolment(services, { dataFolder: services.dataFolder, broker });
  const routes = [
    ...clinicRoutes(services),
    ...askedTestRoutes(services),
    ...storesRoutes(services, enrolment),
  ];
  const app = createApp(services, routes, { baseUrl: "http://localhost" });
  const ask = async (path: string, request: RequestInit) => {
    const response = await app.request(path, request);
    const text = (await response.text()).replace(/<[^>]+>/g, "").replaceAll("&#39;", "'");
    return { status: response.status, text };
  };
  return {
    read: async (who: Who, path: string): Promise<string> =>
      (await ask(path, { headers: signedInAs(services, who).headers })).text,
    send: (who: Who, path: string, fields: Record<string, string | string[]>) =>
      ask(path, signedInAs(services, who).post(fields)),
  };
}
