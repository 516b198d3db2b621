import type { Route } from "../../server/http/route.ts";
import { things } from "./cast.ts";

const examples: Readonly<Record<string, string>> = {
  loan: things.loan,
  serial: things.lentUnit,
  unit: things.lentUnit,
  borrower: things.borrower,
  people: things.borrower,
};

/** A route's address with something of the cast's world in place of each parameter. */
export function addressOf({ path }: Pick<Route, "path">): string {
  return path.replace(/:(\w+)(\{[^}]*\})?/g, (_whole, name: string) => {
    if (examples[name] !== undefined) return examples[name];
    const room = Object.keys(examples).find(
      (known) => path.includes(`/${known}s/:`) || path.includes(`/${known}/:`),
    );
    return room === undefined ? "example-1" : (examples[room] ?? "example-1");
  });
}
