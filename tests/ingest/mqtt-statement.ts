import { afterEach, beforeEach, expect, it } from "vitest";
import type { Link } from "../../scripts/conformance/mqtt/link.ts";
import type { ConnectOptions } from "../../scripts/conformance/mqtt/packets.ts";
import { things } from "../support/cast.ts";
import { type BrokerRig, brokerRig, type UnitCredentials } from "./broker-rig.ts";
import { rawLink, rawUnit, statements } from "./raw-unit.ts";

type Check = () => Promise<void>;

const meaningOf = (id: string): string => {
  const found = statements.find((each) => each.id === id);
  if (found === undefined) throw new Error(`[${id}] is not in tests/reference/mqtt-statements.json`);
  return found.meaning;
};

/** Our real broker over TLS, and tests that are each named by the statements of MQTT 3.1.1 they check. */
export function statementRig() {
  const unit = things.lentUnit;
  const ruled = new Set<string>();
  const links: Link[] = [];
  let rig: BrokerRig | null = null;
  let credentials: UnitCredentials | null = null;

  beforeEach(async () => {
    rig = await brokerRig();
    credentials = await rig.credentialsFor(unit);
  });
  afterEach(async () => {
    for (const link of links.splice(0)) link.cut();
    await rig?.stop();
  });

  const present = (): { rig: BrokerRig; credentials: UnitCredentials } => {
    if (rig === null || credentials === null) throw new Error("no rig outside a test");
    return { rig, credentials };
  };
  const kept = (link: Link): Link => {
    links.push(link);
    return link;
  };
  return {
    unit,
    ruled,
    rig: () => present().rig,
    connected: async (changes: Partial<ConnectOptions> = {}) =>
      kept(await rawUnit(present().rig.broker.port, present().credentials, changes)),
    unconnected: async () => kept(await rawLink(present().rig.broker.port, present().credentials)),
    /** The broker does what these statements say. */
    statement: (...parts: readonly [...ids: string[], check: Check]) => {
      const check = parts.at(-1);
      const ids = parts.filter((part) => typeof part === "string");
      if (typeof check !== "function") throw new Error("a statement without a check");
      for (const id of ids) ruled.add(id);
      it(ids.map((id) => `[${id}] ${meaningOf(id)}`).join("; "), check);
    },
    /** The broker does something else, on purpose, and this is what. */
    exception: (id: string, instead: string, check: Check) => {
      ruled.add(id);
      it(`[${id}] is not followed (${meaningOf(id)}): ${instead}`, check);
    },
  };
}

/** No statement of the reference is left without a test. */
export function everyStatementOf(theme: string, ruled: ReadonlySet<string>): void {
  it(`are all those of ${theme} in the reference`, () => {
    const wanted = statements.filter((each) => each.theme === theme).map(({ id }) => id);
    expect([...ruled].sort()).toEqual(wanted.sort());
  });
}
