import { expect, test } from "vitest";
import { readCertificateSerial } from "../../server/domain/enrolment/certificate-serial.ts";

test("a certificate's serial number is one and the same however a tool writes it", () => {
  for (const written of ["0A1B2C", "a1b2c", "0a:1b:2c", "000A1B2C"]) {
    expect(readCertificateSerial(written)).toBe("a1b2c");
  }
  for (const wrong of ["", "0", "xyz", "f".repeat(41), "-5"]) expect(readCertificateSerial(wrong)).toBeNull();
});
