import { RunAuthority } from "../authority.ts";
import type { Stage } from "./stage.ts";

/** Brokers that the unit must not speak to (FP-2.3).
 *  @param ready tells the unit to come, once the first of them stands there */
export async function sceneOfTrust(stage: Stage, ready: () => void): Promise<void> {
  const { findings, server, options } = stage;
  const foreign = await RunAuthority.make();
  const impostors = [
    ["of another authority", await foreign.broker(options.host)],
    ["for another host", await options.authority.broker("elsewhere.invalid", false)],
  ] as const;
  for (const [what, broker] of impostors) {
    server.pretend(broker);
    if (what === impostors[0][0]) ready();
    const how = await server.turnedAway(options.patience);
    if (how === null)
      findings.notTried("FP-2.3", `the unit did not connect while the certificate was one ${what}`);
    else
      findings.check(
        "FP-2.3",
        how === "tls-failed",
        `it told nothing to a broker with a certificate ${what}`,
        `it subscribed or published at a broker with a certificate ${what}`,
      );
  }
  await server.beItself();
}
