import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import pino from "pino";
import type { Browser, BrowserContextOptions, Page } from "playwright-core";
import type { Role } from "../../server/domain/access/roles.ts";
import { lotId, modelId, type StaffId } from "../../server/domain/ids.ts";
import { type Instant, kilograms, milliampHours, millimetres } from "../../server/domain/units.ts";
import { addModel } from "../../server/programme/add-model.ts";
import { addUnit } from "../../server/programme/add-unit.ts";
import type { StaffActor } from "../../server/programme/staff-actor.ts";
import { inviteStaff } from "../../server/security/staff-accounts.ts";
import { setUpAdministrator, takeUpInvitation } from "../../server/security/take-up-invitation.ts";
import { type RunningService, startService } from "../../server/service.ts";
import { type MovableClock, movableClock, seededChance, testZone } from "./cast.ts";

/** Everyone and everything here is invented. */
const names: Readonly<Record<Role, string>> = {
  coordinator: "Odile Marsh",
  technician: "Tomasz Reed",
  clinician: "Ines Calder",
  administrator: "Wren Hollis",
};
const password = "seven quiet lanterns";

export const seat = { width: millimetres(420), depth: millimetres(440), weight: kilograms(74) } as const;
export const grid = { rows: 10, columns: 10, pitchMillimetres: 42 } as const;
const model = modelId("medium");
const lot = lotId("LOT-M1");
/** Those that nothing has happened to yet, for stories that lend one. */
export const unitsInStock = ["CU-000301", "CU-000302", "CU-000303", "CU-000304"] as const;

/** The real service with its staff and stock: own data folder, free ports, and a clock that stands until it is moved. */
export interface Programme {
  readonly url: string;
  readonly running: RunningService;
  readonly clock: MovableClock;
  readonly staff: Readonly<Record<Role, StaffId>>;
  actor(role: Role): StaffActor;
  /** A page of somebody who has signed in through the form, as they see it after that.
   *  @param login of a colleague; left out: the first who was engaged for that desk */
  signedIn(
    browser: Browser,
    role: Role,
    options?: BrowserContextOptions & { readonly login?: string },
  ): Promise<Page>;
  /** Somebody more for a desk, who signs in as `login`. */
  engage(role: Role, login: string, name: string): Promise<StaffId>;
  /** Stops the service and starts it again on the same folder and ports. */
  restart(): Promise<void>;
  stop(): Promise<void>;
}

/** The service alone, as on its first start: no staff, nothing in stock.
 *  @param startsAt not after the real time and at most weeks before it: TLS looks at the real clock, and the
 *  certificates made here have to be valid by it */
export async function startEmptyService(startsAt: Instant): Promise<{
  running: RunningService;
  clock: MovableClock;
  restart: () => Promise<RunningService>;
  stop: () => Promise<void>;
}> {
  const dataFolder = mkdtempSync(join(tmpdir(), "cushionry-story-"));
  const clock = movableClock(startsAt);
  const chance = seededChance(dataFolder);
  const startOn = (port: number, mqttPort: number) =>
    startService({
      config: { port, mqttPort, dataFolder, baseUrl: null, zone: testZone, frontBroker: null },
      clock,
      chance,
      log: pino({ level: process.env.STORY_LOG ?? "silent" }),
    });
  const running = await startOn(0, 0);
  let now = running;
  const restart = async () => {
    await now.stop();
    now = await startOn(Number(new URL(running.url).port), running.mqttPort);
    return now;
  };
  const stop = async () => {
    await now.stop();
    rmSync(dataFolder, { recursive: true, force: true });
  };
  return { running, clock, restart, stop };
}

/** @param startsAt as for `startEmptyService` */
export async function startProgramme(startsAt: Instant): Promise<Programme> {
  const { running: first, clock, restart, stop } = await startEmptyService(startsAt);
  const staff = await engageStaff(first);
  let running = first;
  const programme: Programme = {
    url: first.url,
    get running() {
      return running;
    },
    clock,
    staff,
    actor: (role) => ({ kind: "staff", id: staff[role] }),
    signedIn: (browser, role, options) => signIn(first.url, browser, role, options),
    engage: (role, login, name) => engage(running, staff.administrator, { role, login, name }),
    restart: async () => {
      running = await restart();
    },
    stop,
  };
  stockUp(programme);
  return programme;
}

async function engageStaff(running: RunningService): Promise<Record<Role, StaffId>> {
  const { services, setUpLink } = running;
  const first = await setUpAdministrator(services, setUpLink?.split("/").at(-1) ?? "", {
    login: "administrator",
    name: names.administrator,
    password,
  });
  if (first.kind !== "taken-up")
    throw new Error(`the first administrator could not be set up: ${first.kind}`);
  const engaged = (role: Role) => engage(running, first.staffId, { role, login: role, name: names[role] });
  return {
    administrator: first.staffId,
    coordinator: await engaged("coordinator"),
    technician: await engaged("technician"),
    clinician: await engaged("clinician"),
  };
}

async function engage(
  { services }: RunningService,
  by: StaffId,
  who: { readonly role: Role; readonly login: string; readonly name: string },
): Promise<StaffId> {
  const invited = inviteStaff(services, by, who);
  if (invited.kind !== "invited") throw new Error(`${who.login} could not be invited: ${invited.kind}`);
  await takeUpInvitation(services, invited.token, password);
  return invited.staffId;
}

function stockUp(programme: Programme): void {
  const { services } = programme.running;
  const coordinator = programme.actor("coordinator");
  done(
    addModel(services, coordinator, {
      id: model,
      name: "Harrow Medium",
      size: "42 x 44 cm",
      width: seat.width,
      depth: seat.depth,
      weightLimit: kilograms(120),
      rows: grid.rows,
      columns: grid.columns,
      pitch: millimetres(grid.pitchMillimetres),
      ratedCapacity: milliampHours(1_200),
    }),
  );
  for (const serial of unitsInStock) addStock(programme, serial);
}

export function addStock(programme: Programme, serial: string): void {
  const request = { serial, model, lot, place: "in-stock" } as const;
  done(addUnit(programme.running.services, programme.actor("coordinator"), request));
}

/** A step that the programme's own rules refuse is a mistake in the story. */
export function done<Outcome extends { readonly kind: string }>(
  outcome: Outcome,
): Exclude<Outcome, { readonly kind: "refused" }> {
  if (isDone(outcome)) return outcome;
  throw new Error(`the programme refuses: ${JSON.stringify(outcome)}`);
}
const isDone = <Outcome extends { readonly kind: string }>(
  outcome: Outcome,
): outcome is Exclude<Outcome, { readonly kind: "refused" }> => outcome.kind !== "refused";

const deskOf: Readonly<Record<Role, string>> = {
  coordinator: "/stores",
  technician: "/bench",
  clinician: "/clinic",
  administrator: "/staff",
};

async function signIn(
  url: string,
  browser: Browser,
  role: Role,
  { login = role, ...options }: BrowserContextOptions & { readonly login?: string } = {},
): Promise<Page> {
  const context = await browser.newContext({ ...options, baseURL: url });
  context.setDefaultTimeout(30_000);
  const page = await context.newPage();
  await page.goto("/sign-in");
  await page.getByLabel("Sign-in name").fill(login);
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.waitForURL(`${url}${deskOf[role]}`);
  return page;
}
