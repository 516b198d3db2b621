import { desc } from "drizzle-orm";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { audit } from "../../server/store/schema/audit.ts";
import { signedInAs, type TestServices, things } from "../support/cast.ts";

export const person = `/clinic/people/${things.borrower}`;

type Who = "clinician" | "otherClinician";

interface Shown {
  readonly status: number;
  readonly text: string;
}

/** The clinician's desk, asked as a browser asks it. */
export interface ClinicApp {
  page(path: string, who?: Who): Promise<Shown>;
  send(path: string, fields: Record<string, string | string[]>, who?: Who): Promise<Shown>;
  lastAudit(): typeof audit.$inferSelect | undefined;
}

export function clinicApp(services: TestServices): ClinicApp {
  const app = createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
  const ask = async (path: string, request: RequestInit): Promise<Shown> => {
    const response = await app.request(path, request);
    return { status: response.status, text: (await response.text()).replace(/&#39;/g, "'") };
  };
  return {
    page: (path, who = "clinician") => ask(path, { headers: signedInAs(services, who).headers }),
    send: (path, fields, who = "clinician") => ask(path, signedInAs(services, who).post(fields)),
    lastAudit: () => services.db.select().from(audit).orderBy(desc(audit.id)).limit(1).get(),
  };
}
