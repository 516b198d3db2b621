import { downlinkFilter } from "../../../firmware-protocol/src/topics.ts";
import type { Findings } from "../findings.ts";
import type { Stage } from "./stage.ts";
import type { Visit } from "./visit.ts";

const held = 2_500;
const mostOnTheWay = 64;

/** The first connection: how the unit comes, what it says first, and how much it has on the way. */
export async function sceneOfConnecting(stage: Stage): Promise<Visit> {
  const visit = await stage.visit();
  await new Promise((resolve) => setTimeout(resolve, stage.quiet(held)));
  stage.findings.advised(
    "FP-2.8",
    visit.mostUnacknowledged <= mostOnTheWay,
    `at most ${visit.mostUnacknowledged} messages were on the way without a PUBACK`,
    `${visit.mostUnacknowledged} messages were on the way without a PUBACK`,
  );
  visit.acknowledge();
  checkConnect(stage.findings, visit, stage.options.unit);
  return visit;
}

function checkConnect(
  findings: Findings,
  { connect, socket, subscribed, publishedBeforeSubscribing }: Visit,
  unit: string,
): void {
  const { protocol, level, clientId, hasUserName, hasPassword, hasWill, cleanSession, keepAliveSeconds } =
    connect;
  const subject = socket.getPeerCertificate().subject?.CN;
  findings.check(
    "FP-2.3",
    protocol === "MQTT" && level === 4 && subject === unit,
    `MQTT 3.1.1 over ${socket.getProtocol()}, with the unit's own certificate`,
    `it came with ${protocol} level ${level} and a certificate of ${subject}`,
  );
  findings.holds("FP-2.13", `it came with ${socket.getCipher().standardName}`);
  findings.check(
    "FP-2.4",
    clientId === unit && !hasUserName && !hasPassword,
    "the client id is the serial, without user name and password",
    `client id ${clientId}${hasUserName ? ", a user name" : ""}${hasPassword ? ", a password" : ""}`,
  );
  findings.check("FP-2.6", !hasWill, "no will", "it set a will");
  findings.advised("FP-2.6", cleanSession, "a clean session", "it asked for a kept session");
  findings.advised(
    "FP-2.6",
    keepAliveSeconds >= 30 && keepAliveSeconds <= 300,
    `a keep-alive of ${keepAliveSeconds} s`,
    `a keep-alive of ${keepAliveSeconds} s, not 30 to 300`,
  );
  const filters = subscribed.map(({ filter, qos }) => `${filter} with QoS ${qos}`).join(", ");
  const own = subscribed.every(({ filter }) => filter.startsWith(`cushion/1/${unit}/down/`));
  findings.check("FP-2.9", own, "it subscribed under its own root only", `it subscribed to ${filters}`);
  const whole = subscribed.some(({ filter, qos }) => filter === downlinkFilter(unit) && qos === 1);
  findings.advised(
    "FP-2.2",
    whole && publishedBeforeSubscribing === 0,
    `it subscribed to ${filters} before it published`,
    `it subscribed to ${filters || "nothing"}, after ${publishedBeforeSubscribing} messages`,
  );
}
