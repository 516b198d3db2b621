import type { Settings } from "../domain/settings.ts";
import type { Services } from "../services.ts";
import { settingsInForce, settingsKnownBy } from "../store/settings.ts";
import type { KnownOn } from "./known-on.ts";

/** The assumptions a page goes by. @param known null: as they are now */
export const settingsOn = ({ db }: Services, known: KnownOn | null): Settings =>
  known === null ? settingsInForce(db) : settingsKnownBy(db, known.end);
