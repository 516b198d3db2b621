import { and, desc, eq, gte } from "drizzle-orm";
import type { StaffId } from "../domain/ids.ts";
import { defaultSettings, type SettingName, type Settings, settingDefinitions } from "../domain/settings.ts";
import type { Instant } from "../domain/units.ts";
import { type Database, preparedOnce } from "./database.ts";
import { audit } from "./schema/audit.ts";
import { setting } from "./schema/staff.ts";

const settingNames = new Set<string>(Object.keys(settingDefinitions));
const isSettingName = (name: string): name is SettingName => settingNames.has(name);

/** Every assumption in force: the programme's own value where it chose one, else the default. */
export function settingsInForce(db: Database): Settings {
  const chosen: Partial<Record<SettingName, number>> = {};
  for (const row of chosenValues(db).all()) {
    // A setting that this version no longer knows is left alone.
    if (isSettingName(row.name)) chosen[row.name] = Number(row.value);
  }
  return { ...defaultSettings, ...chosen };
}

const chosenValues = preparedOnce((db) => db.select().from(setting).prepare());

/** Those in force at `knownBy`: what was changed since is put back, by what the audit says it was. */
export function settingsKnownBy(db: Database, knownBy: Instant): Settings {
  const since = db
    .select({ subject: audit.subject, detail: audit.detail })
    .from(audit)
    .where(and(eq(audit.action, "change-setting"), gte(audit.at, knownBy)))
    .orderBy(desc(audit.id))
    .all();
  const then: Partial<Record<SettingName, number>> = {};
  for (const { subject, detail } of since) {
    const name = subject.replace(/^setting:/, "");
    if (isSettingName(name) && typeof detail.from === "number") then[name] = detail.from;
  }
  return { ...settingsInForce(db), ...then };
}

export function changeSetting(
  db: Database,
  change: { name: SettingName; value: number; at: Instant; by: StaffId },
): void {
  const row = { value: String(change.value), changedAt: change.at, changedBy: change.by };
  db.insert(setting)
    .values({ name: change.name, ...row })
    .onConflictDoUpdate({ target: setting.name, set: row })
    .run();
}
