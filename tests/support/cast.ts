import { createHash } from "node:crypto";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import pino from "pino";
import type { Chance } from "../../server/chance.ts";
import type { Clock } from "../../server/clock.ts";
import type { Role } from "../../server/domain/access/roles.ts";
import {
  type BorrowerId,
  borrowerId,
  loanId,
  lotId,
  modelId,
  planId,
  type StaffId,
  staffId,
  unitSerial,
} from "../../server/domain/ids.ts";
import { instantAt, localDay, type ZoneName, zoneName } from "../../server/domain/time/local-day.ts";
import {
  type Instant,
  instant,
  kilograms,
  milliampHours,
  millimetres,
  minutes,
  seconds,
} from "../../server/domain/units.ts";
import { createLiveEvents } from "../../server/live.ts";
import { openSession, sessionOf } from "../../server/security/sessions.ts";
import type { Services } from "../../server/services.ts";
import { type OpenDatabase, openDatabase } from "../../server/store/database.ts";
import { lot, model, unit } from "../../server/store/schema/equipment.ts";
import { borrower, loan, reliefPlan } from "../../server/store/schema/loans.ts";
import { staff } from "../../server/store/schema/staff.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";

/** Everyone and everything here is invented. */
export const cast = {
  coordinator: { id: staffId("staff_coordinator"), login: "odile", name: "Odile Marsh", role: "coordinator" },
  technician: { id: staffId("staff_technician"), login: "tomasz", name: "Tomasz Reed", role: "technician" },
  clinician: { id: staffId("staff_clinician"), login: "ines", name: "Ines Calder", role: "clinician" },
  otherClinician: { id: staffId("staff_clinician_2"), login: "bram", name: "Bram Oakley", role: "clinician" },
  administrator: {
    id: staffId("staff_administrator"),
    login: "wren",
    name: "Wren Hollis",
    role: "administrator",
  },
} as const satisfies Record<string, { id: StaffId; login: string; name: string; role: Role }>;

export const things = {
  model: modelId("model_medium"),
  lot: lotId("LOT-A"),
  /** On loan to `borrower`, who is the first clinician's. */
  lentUnit: unitSerial("CU-000101"),
  stockUnit: unitSerial("CU-000102"),
  borrower: borrowerId("borrower_one"),
  /** The second clinician's. */
  otherBorrower: borrowerId("borrower_two"),
  loan: loanId("loan_one"),
} as const;

/** A clock that stands still until it is moved. */
export interface MovableClock extends Clock {
  set(to: Instant): void;
  /** @param milliseconds forward from where it stands. */
  move(milliseconds: number): void;
}

export function movableClock(start: Instant): MovableClock {
  let now = start;
  return {
    now: () => now,
    set: (to) => {
      now = to;
    },
    move: (by) => {
      now = instant(now + by);
    },
  };
}

/** The same bytes in the same order for the same seed. */
export function seededChance(seed: string): Chance {
  let counter = 0;
  return {
    bytes: (count) => {
      const bytes = new Uint8Array(count);
      for (let filled = 0; filled < count; filled += 32) {
        const block = createHash("sha256").update(`${seed}:${counter++}`).digest();
        bytes.set(block.subarray(0, Math.min(32, count - filled)), filled);
      }
      return bytes;
    },
  };
}

function known<Value>(value: Value | null): Value {
  if (value === null) throw new Error("the test's own constant is wrong");
  return value;
}

export const testZone: ZoneName = known(zoneName("Europe/London"));
/** Sunday 3 May 2026, 09:00 in London. */
export const testStart: Instant = instantAt(known(localDay("2026-05-03")), 9, 0, testZone);

export interface TestServices extends Services {
  readonly clock: MovableClock;
  readonly database: OpenDatabase;
  readonly dataFolder: string;
  close(): void;
}

/** Services on a fresh database in a folder of its own, with the cast and the things above already in it. */
export function testServices(options: { empty?: boolean; seed?: string } = {}): TestServices {
  const dataFolder = mkdtempSync(join(tmpdir(), "cushionry-test-"));
  const database = openDatabase(dataFolder);
  const clock = movableClock(testStart);
  if (!options.empty) settle(database, clock.now());
  return {
    clock,
    chance: seededChance(options.seed ?? "cast"),
    zone: testZone,
    db: database.db,
    telemetry: createTelemetryStore(database),
    live: createLiveEvents(),
    log: pino({ level: "silent" }),
    database,
    dataFolder,
    close: () => {
      database.close();
      rmSync(dataFolder, { recursive: true, force: true });
    },
  };
}

const dayMs = 86_400_000;

function settle({ db }: OpenDatabase, now: Instant): void {
  const earlier = instant(now - 30 * dayMs);
  for (const member of Object.values(cast)) {
    db.insert(staff)
      .values({ ...member, createdAt: earlier })
      .run();
  }
  db.insert(model)
    .values({
      id: things.model,
      name: "Medium",
      size: "M",
      width: millimetres(430),
      depth: millimetres(430),
      weightLimit: kilograms(120),
      rows: 8,
      columns: 8,
      pitch: millimetres(50),
      ratedCapacity: milliampHours(1_200),
    })
    .run();
  db.insert(lot).values({ id: things.lot, modelId: things.model, receivedAt: earlier }).run();
  const kind = { modelId: things.model, lotId: things.lot, placeSince: earlier };
  db.insert(unit)
    .values([
      { serial: things.lentUnit, place: "on-loan", ...kind },
      { serial: things.stockUnit, place: "in-stock", ...kind },
    ])
    .run();
  addBorrower(db, things.borrower, "Person One", cast.clinician.id, earlier);
  addBorrower(db, things.otherBorrower, "Person Two", cast.otherClinician.id, earlier);
  db.insert(loan)
    .values({
      id: things.loan,
      reference: "L-0001",
      unitSerial: things.lentUnit,
      borrowerId: things.borrower,
      openedAt: earlier,
      startedAt: instant(now - 28 * dayMs),
    })
    .run();
}

function addBorrower(
  db: OpenDatabase["db"],
  id: BorrowerId,
  name: string,
  clinicianId: StaffId,
  at: Instant,
): void {
  db.insert(borrower)
    .values({
      id,
      name,
      area: "North",
      address: "1 Invented Row",
      phone: "none",
      weight: kilograms(70),
      seatWidth: millimetres(420),
      seatDepth: millimetres(420),
      clinicianId,
      createdAt: at,
    })
    .run();
  db.insert(reliefPlan)
    .values({
      id: planId(`plan_${id}`),
      borrowerId: id,
      version: 1,
      validFrom: at,
      interval: minutes(30),
      hold: seconds(120),
      kinds: ["lift", "lean-left", "lean-right", "lean-forward"],
      setBy: clinicianId,
    })
    .run();
}

export interface SignedInRequest {
  /** For `app.request(path, { headers: signedIn.headers })`. */
  readonly headers: { readonly cookie: string };
  readonly csrf: string;
  /** A POST as a page of ours would send it, form token included. */
  post(fields?: Readonly<Record<string, string | readonly string[]>>): RequestInit;
}

/** A session for one of the cast, without going through the sign-in page (http addresses only). */
export function signedInAs(
  services: Pick<Services, "db" | "clock" | "chance">,
  who: keyof typeof cast,
): SignedInRequest {
  const token = openSession(services, cast[who].id);
  const csrf = sessionOf(services, token, false)?.csrfToken;
  if (csrf === undefined) throw new Error("the session was not stored");
  const headers = { cookie: `cushionry=${token}` };
  return {
    headers,
    csrf,
    post: (fields = {}) => {
      const body = new URLSearchParams({ csrf });
      for (const [name, value] of Object.entries(fields)) {
        for (const each of typeof value === "string" ? [value] : value) body.append(name, each);
      }
      return { method: "POST", headers, body };
    },
  };
}
