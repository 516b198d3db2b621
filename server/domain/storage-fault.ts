/** Why nothing can be saved. `full`: no room. `read-only`: the folder can't be written to. `damaged`: the file is not
 *  what was written. `failing`: the system reports an error of the disk. */
export type StorageFault = "full" | "read-only" | "damaged" | "failing";
