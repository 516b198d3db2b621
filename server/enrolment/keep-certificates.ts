import type { Logger } from "pino";
import { millisecondsIn } from "../domain/units.ts";
import type { Authority } from "./authority.ts";

const lookMilliseconds = 6 * millisecondsIn.hour;

export interface CertificateKeeping {
  /** Looks at once. */
  look(): Promise<void>;
  stop(): void;
}

/** Renews what this service shows to its peers while it runs: it may run for longer than a certificate does.
 *  @param renewed after either is another */
export function keepCertificates(
  authority: Authority,
  log: Pick<Logger, "info" | "error">,
  renewed: () => void,
): CertificateKeeping {
  const look = async (): Promise<void> => {
    try {
      if (!(await authority.renewServices())) return;
      renewed();
      log.info("the broker's certificate was renewed; a broker in front must be given the new one");
    } catch (error) {
      log.error({ err: error }, "the broker's certificate could not be renewed");
    }
  };
  const timer = setInterval(() => void look(), lookMilliseconds).unref();
  return { look, stop: () => clearInterval(timer) };
}
