import { atMost, figure, type Row } from "../result.ts";
import { withConnected } from "./connected.ts";
import type { BenchOptions } from "./options.ts";
import { programmeFolder } from "./programme-folder.ts";

/** What a unit keeps of a day: hourly reports of 60 minutes, and about as many messages again of other kinds. Sent as
 *  48 reports of 30 minutes, all 1,440 of them. */
const keptOfADay = 48;
const minutesEach = 30;

/** All come back at once from a day without a network, while others report live. */
export async function benchCatchUp({ quick, say }: BenchOptions): Promise<Row[]> {
  const late = quick ? 300 : 5_000;
  const live = quick ? 30 : 200;
  say(`catching up: ${late} units with a day each to tell, ${live} others live`);
  const folder = await programmeFolder(late + live);
  try {
    return await withConnected(
      folder,
      { way: "own-thread", units: late + live },
      async ({ server, load }) => {
        const before = await server.figures();
        const backlog = await load.catchUp({
          do: "catch-up",
          each: keptOfADay,
          inFlight: 16,
          shape: { minutesEach, writtenAgoSeconds: 86_400 },
          units: late,
          livePerSecond: 83,
        });
        const after = await server.figures();
        const stored = after.counters.stored - before.counters.stored;
        const tookName = `catching up a 24 h outage of ${late.toLocaleString("en")} units`;
        return [
          // Fewer units are no measure of 5,000.
          quick ? figure(tookName, backlog.seconds, "s") : atMost(tookName, backlog.seconds, "s", 300),
          figure("messages a second while catching up", stored / backlog.seconds, "/s"),
          figure(
            "minutes a second while catching up",
            (backlog.messages * minutesEach) / backlog.seconds,
            "/s",
          ),
          figure(
            "messages of the backlog acknowledged of those kept",
            backlog.messages / (late * keptOfADay),
            "",
          ),
          figure("live messages meanwhile", backlog.live.messages, ""),
          atMost("live data late at most, meanwhile", backlog.live.longest / 1_000, "s", 2),
          atMost("connections dropped while catching up", backlog.dropped, "", 0),
          figure("memory of the server after catching up", after.rssBytes / 2 ** 20, "MB"),
        ];
      },
    );
  } finally {
    folder.remove();
  }
}
