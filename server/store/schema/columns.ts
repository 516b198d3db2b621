import { integer } from "drizzle-orm/sqlite-core";
import type { Instant } from "../../domain/units.ts";

/** A moment, as milliseconds since 1970. */
export const instantColumn = (name: string) => integer(name).$type<Instant>();
