/** Branded identifiers: a unit's serial can't be passed where a loan is meant. */
declare const brand: unique symbol;
type Id<Name extends string> = string & { readonly [brand]: Name };

/** The serial printed on a unit's label, e.g. `CU-000123`; also the common name in its certificate. */
export type UnitSerial = Id<"UnitSerial">;
export type ModelId = Id<"ModelId">;
export type LotId = Id<"LotId">;
export type BorrowerId = Id<"BorrowerId">;
export type LoanId = Id<"LoanId">;
export type PlanId = Id<"PlanId">;
export type StaffId = Id<"StaffId">;
export type PairingCodeId = Id<"PairingCodeId">;
/** Certificate serial number, lower-case hex without leading zeros. */
export type CertificateSerial = Id<"CertificateSerial">;
export type StretchId = Id<"StretchId">;
export type VerdictId = Id<"VerdictId">;
export type FindingId = Id<"FindingId">;
export type RecallId = Id<"RecallId">;
export type VisitId = Id<"VisitId">;
export type NoteId = Id<"NoteId">;
export type CommandId = Id<"CommandId">;
export type IncidentId = Id<"IncidentId">;
export type IdentityQuestionId = Id<"IdentityQuestionId">;
export type ReattributionId = Id<"ReattributionId">;
export type PrivacyIncidentId = Id<"PrivacyIncidentId">;
export type TestRequestId = Id<"TestRequestId">;
export type OutcomeId = Id<"OutcomeId">;
export type BenchSessionId = Id<"BenchSessionId">;
export type EquipmentId = Id<"EquipmentId">;
export type CodingId = Id<"CodingId">;

export const unitSerial = (text: string): UnitSerial => text as UnitSerial;
export const modelId = (text: string): ModelId => text as ModelId;
export const lotId = (text: string): LotId => text as LotId;
export const borrowerId = (text: string): BorrowerId => text as BorrowerId;
export const loanId = (text: string): LoanId => text as LoanId;
export const planId = (text: string): PlanId => text as PlanId;
export const staffId = (text: string): StaffId => text as StaffId;
export const pairingCodeId = (text: string): PairingCodeId => text as PairingCodeId;
export const certificateSerial = (text: string): CertificateSerial => text as CertificateSerial;
export const stretchId = (text: string): StretchId => text as StretchId;
export const verdictId = (text: string): VerdictId => text as VerdictId;
export const findingId = (text: string): FindingId => text as FindingId;
export const recallId = (text: string): RecallId => text as RecallId;
export const visitId = (text: string): VisitId => text as VisitId;
export const noteId = (text: string): NoteId => text as NoteId;
export const commandId = (text: string): CommandId => text as CommandId;
export const incidentId = (text: string): IncidentId => text as IncidentId;
export const identityQuestionId = (text: string): IdentityQuestionId => text as IdentityQuestionId;
export const reattributionId = (text: string): ReattributionId => text as ReattributionId;
export const privacyIncidentId = (text: string): PrivacyIncidentId => text as PrivacyIncidentId;
export const testRequestId = (text: string): TestRequestId => text as TestRequestId;
export const outcomeId = (text: string): OutcomeId => text as OutcomeId;
export const benchSessionId = (text: string): BenchSessionId => text as BenchSessionId;
export const equipmentId = (text: string): EquipmentId => text as EquipmentId;
export const codingId = (text: string): CodingId => text as CodingId;
