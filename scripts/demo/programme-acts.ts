import { type LoanId, lotId, modelId, type StaffId, staffId, unitSerial } from "../../server/domain/ids.ts";
import { addDays, localDayOf } from "../../server/domain/time/local-day.ts";
import {
  instant,
  kilograms,
  milliampHours,
  millimetres,
  minutes,
  seconds,
} from "../../server/domain/units.ts";
import { issuePairingCode } from "../../server/enrolment/issue-pairing-code.ts";
import { pairingCodePicture } from "../../server/enrolment/pairing-picture.ts";
import { addBorrower } from "../../server/programme/add-borrower.ts";
import { addModel } from "../../server/programme/add-model.ts";
import { addUnit } from "../../server/programme/add-unit.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { noteOnLoan } from "../../server/programme/note-on-loan.ts";
import { openLoan } from "../../server/programme/open-loan.ts";
import { openRecall } from "../../server/programme/recall-open.ts";
import { recordRecallOutcome } from "../../server/programme/recall-outcome.ts";
import { setReliefPlan } from "../../server/programme/set-relief-plan.ts";
import type { StaffActor } from "../../server/programme/staff-actor.ts";
import { swapUnit } from "../../server/programme/swap-unit.ts";
import { planVisit } from "../../server/programme/visit-plan.ts";
import type { RunningService } from "../../server/service.ts";
import { appendAudit } from "../../server/store/audit.ts";
import { allRecalls } from "../../server/store/recalls.ts";
import { addStaff } from "../../server/store/staff.ts";
import { playAtBench, registerLoads } from "./bench-acts.ts";
import type { DemoAnswer, ProgrammeAct } from "./commands.ts";
import { done } from "./done.ts";
import { type BorrowerKey, borrowers, lots, models, type StaffKey, staff, units } from "./invented-cast.ts";

export const castIds: readonly StaffId[] = staff.map((person) => staffId(`staff-${person.key}`));

const actorOf = (key: StaffKey): StaffActor => ({ kind: "staff", id: staffId(`staff-${key}`) });

/** The people of the programme, at work. Remembers which loan each borrower has now. */
export class ProgrammeActs {
  readonly #loans = new Map<BorrowerKey, LoanId>();

  async play(running: RunningService, act: ProgrammeAct): Promise<DemoAnswer> {
    switch (act.kind) {
      case "set-up":
        setUp(running);
        return {};
      case "lend":
        return this.#lend(running, act);
      case "note":
        await this.#note(running, act);
        return {};
      case "swap":
        return this.#swap(running, act);
      case "plan-visit":
        this.#planVisit(running, act);
        return {};
      case "open-recall":
        done(
          openRecall(running.services, actorOf("tobias"), {
            title: act.title,
            advice: act.advice,
            criterion: "lot",
            value: act.lot,
          }),
        );
        return {};
      case "recall-outcome":
        recordOutcome(running, act);
        return {};
      case "move":
        done(
          moveUnit(running.services, actorOf("sorin"), {
            unit: unitSerial(act.serial),
            from: act.from,
            to: act.to,
          }),
        );
        return {};
      case "bench":
        return playAtBench(running, actorOf("ife"), act);
    }
  }

  async #lend(running: RunningService, act: Extract<ProgrammeAct, { kind: "lend" }>): Promise<DemoAnswer> {
    const { services } = running;
    const invented = borrowers[act.borrower];
    const model = modelOfUnit(act.serial);
    const clinician = actorOf(invented.clinician);
    const { borrower } = done(
      addBorrower(services, actorOf("maren"), {
        name: invented.name,
        area: invented.area,
        address: invented.address,
        phone: invented.phone,
        weight: kilograms(Math.round(act.weightKilograms)),
        seatWidth: millimetres(model.widthMillimetres + 10),
        seatDepth: millimetres(model.depthMillimetres + 10),
        clinicianId: clinician.id,
      }),
    );
    const today = localDayOf(services.clock.now(), services.zone);
    done(
      setReliefPlan(services, clinician, {
        borrower,
        from: today,
        interval: minutes(act.plan.intervalMinutes),
        hold: seconds(act.plan.holdSeconds),
        kinds: act.plan.kinds,
      }),
    );
    const opened = done(
      openLoan(services, actorOf("maren"), {
        unit: unitSerial(act.serial),
        borrower,
        dueBackOn: addDays(today, 120),
      }),
    );
    this.#loans.set(act.borrower, opened.loan);
    return { pairingPicture: await pairingPicture(running, opened.loan) };
  }

  async #note(running: RunningService, act: Extract<ProgrammeAct, { kind: "note" }>): Promise<void> {
    done(
      await noteOnLoan(running.services, actorOf(act.by), {
        loan: this.#loanOf(act.borrower),
        kind: act.note,
        from: instant(act.from),
        until: act.until === null ? null : instant(act.until),
        text: act.text,
      }),
    );
  }

  async #swap(running: RunningService, act: Extract<ProgrammeAct, { kind: "swap" }>): Promise<DemoAnswer> {
    const swapped = done(
      swapUnit(running.services, actorOf("maren"), {
        loan: this.#loanOf(act.borrower),
        replacement: unitSerial(act.replacement),
        reason: act.reason,
        unitTo: "coming-back",
      }),
    );
    this.#loans.set(act.borrower, swapped.opened.loan);
    return { pairingPicture: await pairingPicture(running, swapped.opened.loan) };
  }

  #planVisit(running: RunningService, act: Extract<ProgrammeAct, { kind: "plan-visit" }>): void {
    const { services } = running;
    done(
      planVisit(services, actorOf("maren"), {
        loan: this.#loanOf(act.borrower),
        task:
          act.replacement === null
            ? { kind: "collection" }
            : { kind: "swap", replacement: unitSerial(act.replacement) },
        day: addDays(localDayOf(services.clock.now(), services.zone), act.daysAhead),
        doneBy: actorOf(act.doneBy).id,
        reason: act.reason,
      }),
    );
  }

  #loanOf(borrower: BorrowerKey): LoanId {
    const loan = this.#loans.get(borrower);
    if (loan === undefined) throw new Error(`Nothing has been lent to ${borrower} yet.`);
    return loan;
  }
}

/** The code as the page draws it: the cushion has to read it from there. */
async function pairingPicture({ services, enrolment }: RunningService, loan: LoanId): Promise<string> {
  const issued = done(await issuePairingCode(services, enrolment, actorOf("maren"), loan));
  return pairingCodePicture(issued.jws);
}

const modelOfUnit = (serial: string) => {
  const unit = units.find((each) => each.serial === serial);
  const model = unit && models.find((each) => each.id === lots[unit.lot].model);
  if (!model) throw new Error(`No unit ${serial} in the story.`);
  return model;
};

function setUp(running: RunningService): void {
  const { services } = running;
  const now = services.clock.now();
  services.db.transaction((tx) => {
    for (const person of staff) {
      const id = staffId(`staff-${person.key}`);
      addStaff(tx, { id, login: person.key, name: person.name, role: person.role, createdAt: now });
      appendAudit(tx, {
        at: now,
        actor: { kind: "system" },
        action: "add-staff",
        subject: `staff:${id}`,
        detail: { role: person.role, how: "invented for the demonstration" },
      });
    }
  });
  const coordinator = actorOf("maren");
  for (const model of models) {
    done(
      addModel(services, coordinator, {
        id: model.id,
        name: model.name,
        size: model.size,
        width: millimetres(model.widthMillimetres),
        depth: millimetres(model.depthMillimetres),
        weightLimit: kilograms(model.weightLimitKilograms),
        rows: model.rows,
        columns: model.columns,
        pitch: millimetres(model.pitchMillimetres),
        ratedCapacity: milliampHours(model.ratedMilliampHours),
        draw: model.drawMilliamperes,
      }),
    );
  }
  for (const { serial, lot, place } of units) {
    const { id, model } = lots[lot];
    done(addUnit(services, coordinator, { serial, model: modelId(model), lot: lotId(id), place }));
  }
  registerLoads(running, actorOf("ife"));
}

function recordOutcome(
  { services }: RunningService,
  act: Extract<ProgrammeAct, { kind: "recall-outcome" }>,
): void {
  const open = allRecalls(services.db).find((recall) => recall.closedAt === null);
  if (!open) throw new Error("No recall is open in the story.");
  done(
    recordRecallOutcome(services, actorOf("tobias"), {
      recall: open.id,
      unit: unitSerial(act.serial),
      outcome: act.outcome,
      evidence: act.evidence,
    }),
  );
}
