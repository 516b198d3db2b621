import type { StaffId } from "../domain/ids.ts";
import { keysOf } from "../domain/keys-of.ts";
import { type SettingName, settingDefinitions } from "../domain/settings.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { changeSetting, settingsInForce } from "../store/settings.ts";

/** Puts the programme's own assumptions in force. Only what differs is written and audited; a change sets going a
 *  review of every record on loan, for what was computed before rests on the old ones.
 *  @param chosen each within the range of its definition: the form has checked it
 *  @returns the names that changed */
export function changeSettings(
  services: Services,
  by: StaffId,
  chosen: Readonly<Record<SettingName, number>>,
): readonly SettingName[] {
  const at = services.clock.now();
  const changed = services.db.transaction((tx) => {
    const before = settingsInForce(tx);
    const names = settingNames.filter((name) => before[name] !== chosen[name]);
    for (const name of names) {
      changeSetting(tx, { name, value: chosen[name], at, by });
      appendAudit(tx, {
        at,
        actor: { kind: "staff", id: by },
        action: "change-setting",
        subject: `setting:${name}`,
        detail: { from: before[name], to: chosen[name] },
      });
    }
    return names;
  });
  if (changed.length > 0) services.live.changed("settings", "stores", "bench", "clinic");
  return changed;
}

export const settingNames = keysOf(settingDefinitions);
