import { millisecondsIn } from "../domain/units.ts";
import { expireCommands } from "../programme/follow-command.ts";
import { askForRenewals } from "../programme/renew-certificates.ts";
import { clearTwoDevices } from "../programme/tell-of-two-devices.ts";
import type { Services } from "../services.ts";

export interface CommandJob {
  stop(): void;
}

/** Each minute: closes commands that nobody answered in time, asks for certificates that end soon, and clears units under
 *  whose name a second device has been quiet for long. */
export function startCommandJob(services: Services): CommandJob {
  const round = (): void => {
    try {
      expireCommands(services);
      askForRenewals(services);
      clearTwoDevices(services);
    } catch (error) {
      services.log.error({ err: error }, "a round over the commands failed");
    }
  };
  const timer = setInterval(round, millisecondsIn.minute).unref();
  round();
  return { stop: () => clearInterval(timer) };
}
