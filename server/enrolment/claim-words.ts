import type { EnrolRefusalReason } from "../../firmware-protocol/src/enrolment.ts";

/** Each refusal in words for the person beside the unit: what is wrong, then what to do next. */
export const refusalWords = {
  "unreadable-request":
    "The unit's request could not be read. Restart the unit and try again; if it happens again, its firmware needs attention.",
  "unreadable-code":
    "This is not a pairing code, or a letter is wrong. Check it against the slip: a code never contains 0, 1, A, E, I, L, O or Q.",
  "signature-not-ours":
    "This code was not issued by this programme. Check that the slip belongs to this unit, or ask the stores desk for a new code.",
  expired: "This code has expired. Ask the stores desk for a new one.",
  withdrawn: "This code was withdrawn. Use the newest slip, or ask the stores desk for a new code.",
  "already-used":
    "This code has already been used, and a code works once. If this unit is not connected, ask the stores desk for a new code.",
  "another-unit": "This code is for another unit. Compare the serial on the slip with the label on the unit.",
  "loan-ended":
    "The loan this code belongs to has ended. Ask the stores desk whether a new loan is open for this unit.",
  "key-not-proved":
    "The unit did not prove that it holds its own key: the request must name the unit and be signed by a P-256 or Ed25519 key. Restart the unit and try again.",
  "too-many-tries":
    "Too many codes were typed in a short time. Wait ten minutes, then type the code once more, or let the unit read the picture.",
} as const satisfies Record<EnrolRefusalReason, string>;

/** The same for a code of the bench, where nobody else gives a new one. */
export const benchWords: Partial<Record<EnrolRefusalReason, string>> = {
  expired: "This code has expired. Show a new one on the page of the bench session.",
  withdrawn: "This code was withdrawn. Use the newest one on the page of the bench session.",
  "already-used":
    "This code has already been used, and a code works once. Show a new one on the page of the bench session.",
  "loan-ended": "The bench session this code belongs to has ended. Begin a new session to connect the unit.",
};
