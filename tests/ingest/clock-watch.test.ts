import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { startClockWatch } from "../../server/jobs/clock-watch.ts";
import { appendAudit } from "../../server/store/audit.ts";
import { auditBefore } from "../../server/store/audit-page.ts";
import { type TestServices, testServices } from "../support/cast.ts";

const day = 86_400;
let services: TestServices;
beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

const audited = () =>
  auditBefore(services.db, { limit: 50 })
    .rows.filter(({ action }) => action === "set-server-clock")
    .map(({ detail }) => detail);

describe("that the server's clock was set", () => {
  it("is put down in the audit, by how much, and a slow correction is not", () => {
    let counted = 0;
    const watch = startClockWatch(services, () => counted * 1_000);
    const wait = (seconds: number, off: number): void => {
      counted += seconds;
      services.clock.move((seconds + off) * 1_000);
      watch.look();
    };
    for (let time = 0; time < 30; time++) wait(10, 5);
    expect(audited()).toEqual([]);
    wait(10, -day);
    wait(10, 0);
    wait(10, day);
    watch.stop();
    expect(audited().map(({ bySeconds }) => bySeconds)).toEqual([day, -day]);
  });

  it("back while the service was off is seen when it starts, by what it wrote before", () => {
    const at = services.clock.now();
    appendAudit(services.db, {
      at,
      actor: { kind: "system" },
      action: "anything",
      subject: "server",
      detail: {},
    });
    startClockWatch(services).stop();
    expect(audited()).toEqual([]);
    services.clock.move(-day * 1_000);
    startClockWatch(services).stop();
    expect(audited()).toEqual([{ bySeconds: -day, noticed: "at-start" }]);
  });
});
