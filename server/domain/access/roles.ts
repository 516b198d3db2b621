import { keysOf } from "../keys-of.ts";
/** Who may do what: one table. An action that is not listed for a role is refused. */
export const roles = ["coordinator", "technician", "clinician", "administrator"] as const;
export type Role = (typeof roles)[number];

const everyone: readonly Role[] = roles;
const coordinator: readonly Role[] = ["coordinator"];
const technician: readonly Role[] = ["technician"];
const clinician: readonly Role[] = ["clinician"];
const administrator: readonly Role[] = ["administrator"];
const storesAndBench: readonly Role[] = ["coordinator", "technician"];

export const permissions = {
  "see-own-account": everyone,
  "sign-out": everyone,
  "change-own-password": everyone,

  "see-stores-worklist": coordinator,
  "see-loans": coordinator,
  "see-borrower-contact": coordinator,
  "add-borrower": coordinator,
  "add-unit": coordinator,
  "open-loan": coordinator,
  "show-pairing-code": coordinator,
  "withdraw-pairing-code": coordinator,
  "end-loan": coordinator,
  "note-on-loan": ["coordinator", "clinician"],
  "move-unit": storesAndBench,
  "see-stock": storesAndBench,
  "ask-unit-from-stores": coordinator,
  "open-recall": coordinator,
  "record-recall-outcome": coordinator,
  "close-recall": coordinator,
  "plan-visit": coordinator,
  "complete-visit": coordinator,
  "record-visit-test": coordinator,

  "see-bench-worklist": technician,
  "see-unit-health": technician,
  "judge-finding": technician,
  "see-kept-aside": technician,
  "command-unit": technician,
  "record-bench-test": technician,

  "see-incident": everyone,
  "see-bench-sessions": technician,
  "hold-bench-session": technician,
  "see-models": technician,
  "describe-model": technician,
  "load-unit-log": technician,
  "see-bench-equipment": ["technician", "administrator"],
  "keep-bench-equipment": ["technician", "administrator"],

  "see-clinic-worklist": clinician,
  "see-own-people": clinician,
  "see-gap": clinician,
  "set-relief-plan": clinician,
  "record-what-was-learned": clinician,
  "see-calibration": clinician,
  "answer-whose-record": clinician,
  "ask-for-test": clinician,
  "ask-own-persons-unit": clinician,

  "manage-staff": administrator,
  "change-settings": administrator,
  "see-audit": administrator,
} as const satisfies Record<string, readonly Role[]>;

export type Action = keyof typeof permissions;
export const actions = keysOf(permissions);

export function mayDo(role: Role, action: Action): boolean {
  const allowed: readonly Role[] = permissions[action];
  return allowed.includes(role);
}
