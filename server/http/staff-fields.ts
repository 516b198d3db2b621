import { z } from "zod";
import { roles } from "../domain/access/roles.ts";

/** What a person may sign in with. */
export const loginField = z
  .string()
  .trim()
  .toLowerCase()
  .regex(/^[a-z0-9][a-z0-9.-]{1,39}$/, "Use 2 to 40 small letters, digits, dots or hyphens.");

export const nameField = z.string().trim().max(80);
export const roleField = z.enum(roles);
