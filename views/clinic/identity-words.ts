import type { IdentityTroubleKind } from "../../server/domain/identity-trouble/identity-trouble.ts";
import type { Lay } from "../../server/domain/identity-trouble/lay.ts";

/** What it may be, as a sentence that accuses nobody. */
export const troubleWords: Readonly<Record<IdentityTroubleKind, string>> = {
  swapped: "What is recorded lately does not fit this person: the unit may be with somebody else",
  "two-people": "Two people may be sitting on this cushion in turn",
  object: "A bag, a pet or another object may have lain on the cushion",
  "other-seat": "The cushion may lie on another seat some of the time",
  turned: "The cushion may lie turned round or upside down",
};

/** What to ask, kindly, before anything is changed. */
export const troubleAsk: Readonly<Record<IdentityTroubleKind, string>> = {
  swapped:
    "“Could you read me the number on the label of the cushion you are sitting on?” Then the same question in the other home.",
  "two-people":
    "“Does anyone else use the cushion now and then? That is quite all right, it helps us to read the record.”",
  object: "“Does something get put on the cushion when you are not on it, a bag perhaps?”",
  "other-seat": "“Do you take the cushion along to another seat, the car or the sofa?”",
  turned: "“When you look at the cushion, on which side does the cable come out?”",
};

/** Short enough for a list of choices on a phone. */
export const layNames: Readonly<Record<Lay, string>> = {
  "turned-half": "is read as back to front",
  mirrored: "is read as upside down",
  "mirrored-and-turned-half": "is read as both of these",
};

/** How it lay, and what therefore changes places. */
export const layShown: Readonly<Record<Lay, string>> = {
  "turned-half": "it lay back to front, left and right and front and rear change places",
  mirrored: "it lay upside down, left and right change places",
  "mirrored-and-turned-half": "it lay upside down and back to front, front and rear change places",
};
