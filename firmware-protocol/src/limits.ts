/** Limits of the protocol, stated in SPEC.md sections 3 to 7. */
export const protocolVersion = 1;
/** [FP-3.2] */
export const maximumUplinkBytes = 16_384;
export const maximumDownlinkBytes = 4_096;
/** [FP-3.9] */
export const maximumDepth = 8;
/** [FP-4.9] Body keys from here on belong to newer versions of either side, and are passed over. */
export const firstFutureKey = 64;
/** [FP-5.7] */
export const maximumMinutesPerMessage = 1_440;
/** However the values fall, this many minutes fit into one message. */
export const minutesThatAlwaysFit = 1_000;
export const minutesThatAlwaysFitWithHumidity = 900;
/** [FP-5.45] */
export const maximumFailedCellsListed = 256;
/** [FP-5.59] [FP-7.15] */
export const maximumCertificateBytes = 2_048;
export const maximumChainLength = 4;
/** [FP-7.1] [FP-7.3] */
export const maximumBootsPerReceipt = 8;
export const maximumHolesPerBoot = 32;

/** Numbers that count are 32 bits wide, so that a small processor needs no wider arithmetic. */
export const largestCount = 0xffff_ffff;
