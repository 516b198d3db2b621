/** What happens in a simulated programme, and how often. None of these numbers is the model's: rates are a person's in
 *  90 days. They are invented; where the trade has a figure it is named. */
export interface World {
  readonly name: string;
  /** Shared by homes of one area, or by all. */
  readonly areaOutages: number;
  readonly programmeOutages: number;
  /** Share of programmes in which a batch of certificates runs out. */
  readonly certificateBatches: number;
  readonly homeLinkFailures: number;
  readonly homeLinkMedianHours: number;
  /** A relay that hears nothing for days: another telephone, a lost permission. */
  readonly blindRelays: number;
  readonly relayDrops: number;
  readonly outingsPerDay: number;
  readonly holidaysWithCushion: number;
  readonly holidaysWithout: number;
  /** Readmission after spinal injury is often quoted as 30 % a year; short stays beside it. */
  readonly hospitalStays: number;
  readonly choices: number;
  readonly switchedOff: number;
  /** Share of people who switch off on some nights. */
  readonly nightSwitchers: number;
  readonly fadedCells: number;
  readonly chargerFaults: number;
  readonly badElectronics: number;
  readonly notesWritten: number;
  readonly notesWrong: number;
  /** Share of units with no assessment, no certificate on file, restarts without a reason. */
  readonly unassessed: number;
  readonly unfiledCertificates: number;
  readonly silentRestarts: number;
  readonly findingsSeen: number;
  readonly findingsFalse: number;
  /** Millivolts that this lot's cells read off the ordinary curve. */
  readonly cellOffset: number;
  readonly storeHours: readonly [number, number];
  readonly chargesNightly: readonly [number, number];
  /** Episodes that make reliefs few. */
  readonly fewerReliefs: number;
  readonly fadingPrompts: number;
  readonly deadLines: number;
  readonly drifts: number;
  readonly unseenMethods: number;
  readonly movedInserts: number;
  readonly otherSeats: number;
  readonly changedPlans: number;
}

export const ordinaryWorld: World = {
  name: "ordinary",
  areaOutages: 1,
  programmeOutages: 2,
  certificateBatches: 0.34,
  homeLinkFailures: 2,
  homeLinkMedianHours: 2.5,
  blindRelays: 0.25,
  relayDrops: 0.3,
  outingsPerDay: 0.3,
  holidaysWithCushion: 0.25,
  holidaysWithout: 0.25,
  hospitalStays: 0.2,
  choices: 0.08,
  switchedOff: 0.8,
  nightSwitchers: 0.03,
  fadedCells: 0.07,
  chargerFaults: 0.02,
  badElectronics: 0.05,
  notesWritten: 0.65,
  notesWrong: 0.06,
  unassessed: 0.12,
  unfiledCertificates: 0.1,
  silentRestarts: 0.08,
  findingsSeen: 0.8,
  findingsFalse: 0.02,
  cellOffset: 0,
  storeHours: [36, 120],
  chargesNightly: [0.82, 0.99],
  fewerReliefs: 0.3,
  fadingPrompts: 0.12,
  deadLines: 0.09,
  drifts: 0.05,
  unseenMethods: 0.05,
  movedInserts: 0.1,
  otherSeats: 0.3,
  changedPlans: 0.12,
};

/** Elsewhere and later: fewer notes, worse eyes on the units, another lot of cells, people who charge less. */
export const shiftedWorld: World = {
  ...ordinaryWorld,
  name: "shifted",
  areaOutages: 2,
  homeLinkFailures: 4,
  homeLinkMedianHours: 5,
  blindRelays: 0.5,
  hospitalStays: 0.35,
  choices: 0.15,
  fadedCells: 0.12,
  badElectronics: 0.08,
  notesWritten: 0.35,
  notesWrong: 0.1,
  unassessed: 0.25,
  silentRestarts: 0.15,
  findingsSeen: 0.65,
  findingsFalse: 0.04,
  cellOffset: 40,
  storeHours: [18, 60],
  chargesNightly: [0.7, 0.97],
  fewerReliefs: 0.45,
  deadLines: 0.14,
};
