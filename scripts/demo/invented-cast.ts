/** A programme of our own invention. Nobody and no place here exists. */
export interface InventedStaff {
  readonly key: string;
  readonly name: string;
  readonly role: "coordinator" | "technician" | "clinician" | "administrator";
}

export const staff = [
  { key: "maren", name: "Maren Oduya", role: "coordinator" },
  { key: "tobias", name: "Tobias Lindquarry", role: "coordinator" },
  { key: "ife", name: "Ife Barrowcleave", role: "technician" },
  { key: "sorin", name: "Sorin Vaskell", role: "technician" },
  { key: "anneke", name: "Anneke Thornebury", role: "clinician" },
  { key: "ruhi", name: "Ruhi Castellane", role: "clinician" },
  { key: "pell", name: "Pell Amandine", role: "administrator" },
] as const satisfies readonly InventedStaff[];
export type StaffKey = (typeof staff)[number]["key"];

export interface InventedModel {
  readonly id: string;
  readonly name: string;
  readonly size: string;
  readonly widthMillimetres: number;
  readonly depthMillimetres: number;
  readonly weightLimitKilograms: number;
  readonly rows: number;
  readonly columns: number;
  readonly pitchMillimetres: number;
  readonly ratedMilliampHours: number;
  /** As the simulated cushions draw (simulated-cushions/battery.ts), the same for each. */
  readonly drawMilliamperes: { readonly loaded: number; readonly empty: number; readonly searching: number };
}

const draw = { loaded: 13, empty: 4, searching: 5 };

export const models: readonly InventedModel[] = [
  {
    id: "haverling-38",
    name: "Haverling 38",
    size: "38 x 40 cm",
    widthMillimetres: 380,
    depthMillimetres: 400,
    weightLimitKilograms: 90,
    rows: 10,
    columns: 10,
    pitchMillimetres: 38,
    ratedMilliampHours: 1_200,
    drawMilliamperes: draw,
  },
  {
    id: "haverling-42",
    name: "Haverling 42",
    size: "42 x 44 cm",
    widthMillimetres: 420,
    depthMillimetres: 440,
    weightLimitKilograms: 120,
    rows: 10,
    columns: 10,
    pitchMillimetres: 42,
    ratedMilliampHours: 1_200,
    drawMilliamperes: draw,
  },
  {
    id: "haverling-48",
    name: "Haverling 48",
    size: "48 x 46 cm",
    widthMillimetres: 480,
    depthMillimetres: 460,
    weightLimitKilograms: 160,
    rows: 11,
    columns: 12,
    pitchMillimetres: 40,
    ratedMilliampHours: 1_500,
    drawMilliamperes: draw,
  },
];

/** A lot is of one model; the middle size came in two. */
export const lots = {
  small: { id: "H38-2511", model: "haverling-38" },
  mediumEarly: { id: "H42-2508", model: "haverling-42" },
  mediumLate: { id: "H42-2602", model: "haverling-42" },
  wide: { id: "H48-2510", model: "haverling-48" },
} as const;
export type LotKey = keyof typeof lots;

export interface InventedUnit {
  readonly serial: string;
  readonly lot: LotKey;
  readonly place: "in-stock" | "on-the-bench";
}

const numbered = (lot: LotKey, first: number, count: number): InventedUnit[] =>
  Array.from({ length: count }, (_, index) => ({
    serial: `CU-${String(first + index).padStart(6, "0")}`,
    lot,
    place: "in-stock",
  }));

export const units: readonly InventedUnit[] = [
  ...numbered("small", 3_801, 5),
  ...numbered("mediumEarly", 4_201, 6),
  ...numbered("mediumLate", 4_231, 7),
  ...numbered("wide", 4_801, 5),
  { serial: "CU-004806", lot: "wide", place: "on-the-bench" },
  { serial: "CU-004807", lot: "wide", place: "on-the-bench" },
];

export interface InventedBorrower {
  readonly name: string;
  readonly area: string;
  readonly address: string;
  readonly phone: string;
  readonly clinician: StaffKey;
}

const at = (
  name: string,
  area: string,
  address: string,
  phone: string,
  clinician: StaffKey,
): InventedBorrower => ({ name, area, address, phone, clinician });

/** Telephone numbers with 01632 belong to no exchange: Ofcom sets them aside for drama. */
export const borrowers = {
  steady: at("Wilhelmina Achterop", "Orrinmouth", "3 Ferry Steps", "01632 960101", "anneke"),
  flat: at("Desmond Okparavel", "Orrinmouth", "18 Lantern Row", "01632 960118", "anneke"),
  network: at("Ludmila Harrowfen", "Kestle Bay", "7 Cormorant Close", "01632 960122", "anneke"),
  column: at("Joaquin Feldmarsh", "Kestle Bay", "41 Upper Slip", "01632 960130", "ruhi"),
  drift: at("Bronagh Tillicombe", "Thornwick Green", "The Old Dairy", "01632 960133", "ruhi"),
  hospital: at("Haruto Greystane", "Thornwick Green", "2 Pound Lane", "01632 960144", "anneke"),
  habit: at("Noor Wexcombe", "Lower Fennet", "29 Weir Street", "01632 960151", "ruhi"),
  charging: at("Osian Blackthwaite", "Lower Fennet", "Flat 4, Mill House", "01632 960157", "ruhi"),
  swap: at("Perpetua Nwoyekind", "Orrinmouth", "66 Signal Hill", "01632 960160", "anneke"),
  silent: at("Casimir Dunleaf", "Kestle Bay", "12 Net Loft Yard", "01632 960166", "anneke"),
  late: at("Tamsin Orchardine", "Harrowdene", "5 Quarry View", "01632 960171", "anneke"),
  weak: at("Ezekiel Marwood-Pike", "Harrowdene", "Crag Cottage", "01632 960174", "ruhi"),
  stuck: at("Svetla Birchanov", "Harrowdene", "9 Chapel Terrace", "01632 960179", "ruhi"),
  tilt: at("Ngozi Ferrymoor", "Thornwick Green", "14 Green End", "01632 960182", "anneke"),
  worn: at("Aurelio Stannick", "Lower Fennet", "8 Sluice Cottages", "01632 960185", "ruhi"),
  recent: at("Freya Colbourne-Adeyo", "Orrinmouth", "21 Rope Walk", "01632 960190", "anneke"),
  holiday: at("Mateus Whinfell", "Kestle Bay", "33 Beacon Road", "01632 960196", "ruhi"),
} as const;
export type BorrowerKey = keyof typeof borrowers;
