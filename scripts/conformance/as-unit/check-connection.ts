import { connect as connectPlain } from "node:net";
import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import { downlinkFilter, uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { selfSigned } from "../authority.ts";
import { Link } from "../mqtt/link.ts";
import { connectPacket } from "../mqtt/packets.ts";
import { dial, keptOut } from "./dial.ts";
import type { Run } from "./run.ts";

/** Another unit's serial, which this run has no certificate for. */
const stranger = "CU-NOT-MINE";

export async function checkConnection(run: Run): Promise<void> {
  await checkAuthorities(run);
  await checkWhoGetsIn(run);
  await checkTopics(run);
}

async function checkAuthorities(run: Run): Promise<void> {
  const { findings, identity } = run;
  const dialled = await dial(identity);
  if (dialled.kind === "failed") {
    findings.broken("FP-2.3", `TLS with the unit's own certificate failed: ${dialled.reason}`);
    return;
  }
  const { socket, link } = dialled;
  const version = socket.getProtocol() ?? "no TLS";
  findings.holds(
    "FP-2.3",
    `${version}, with a broker certificate that leads to the authority and names the host`,
  );
  link.cut();
  await checkCiphers(run);
}

/** A small unit may have one of the two only. */
async function checkCiphers({ findings, identity }: Run): Promise<void> {
  const suites = [
    ["TLS_AES_128_GCM_SHA256", { minVersion: "TLSv1.3", ciphers: "TLS_AES_128_GCM_SHA256" }],
    [
      "TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256",
      { maxVersion: "TLSv1.2", ciphers: "ECDHE-ECDSA-AES128-GCM-SHA256" },
    ],
  ] as const;
  for (const [suite, tls] of suites) {
    const how = await keptOut(identity, tls);
    findings.check("FP-2.13", how === null, `it accepts ${suite} alone`, `with ${suite} alone: ${how}`);
  }
}

async function checkWhoGetsIn({ findings, identity }: Run): Promise<void> {
  const { key, certificate } = await selfSigned(identity.unit);
  const tried = [
    ["without a certificate", "FP-2.3", await keptOut(identity, { key: "", cert: "" })],
    [
      "with a certificate of another authority",
      "FP-2.3",
      await keptOut(identity, { key, cert: certificate }),
    ],
    ["without TLS", "FP-2.3", await keptOutWithoutTls(identity.host, identity.port, identity.unit)],
    ["with another client id than its serial", "FP-2.4", await keptOut(identity, {}, { clientId: stranger })],
  ] as const;
  for (const [who, clause, how] of tried)
    findings.check(clause, how !== null, `${who}: ${how}`, `a unit ${who} was let in`);
}

async function keptOutWithoutTls(host: string, port: number, clientId: string): Promise<string | null> {
  const socket = connectPlain({ host, port });
  const link = new Link(socket);
  link.send(connectPacket({ clientId }));
  socket.once("connect", () => link.send(connectPacket({ clientId })));
  const connack = await link.next("connack", 3_000);
  link.cut();
  return connack?.code === 0 ? null : "no CONNACK that accepts";
}

async function checkTopics(run: Run): Promise<void> {
  const { findings, words } = run;
  const other = await run.connect();
  for (const filter of [downlinkFilter(stranger), "cushion/1/+/down/+", "#"]) {
    const granted = await other.subscribe(filter);
    findings.check(
      "FP-2.9",
      granted === null || granted > 2,
      `a subscription to ${filter} was ${granted === null ? "cut off" : "not granted"}`,
      `a subscription to ${filter} was granted`,
    );
    if (other.link.isClosed) break;
  }
  other.link.cut();
  const forging = await run.connect();
  const message = { ...words.hello(0), unit: stranger };
  const acknowledged = await forging.publish(uplinkTopic(stranger, "hello"), encodeUplink(message));
  // MQTT 3.1.1 has no answer that refuses a publish: it is dropped with the connection, or acknowledged and dropped.
  const how = acknowledged
    ? "acknowledged; whether it was dropped only the server's pages show"
    : "not acknowledged";
  if (acknowledged) findings.notTried("FP-2.9", `a message on another unit's topic was ${how}`);
  else findings.holds("FP-2.9", `a message on another unit's topic was ${how}`);
  forging.link.cut();
}
