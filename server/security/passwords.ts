import { hash, verify } from "@node-rs/argon2";

/** argon2id with 19 MiB, two passes, one lane: the first choice of the OWASP Password Storage Cheat Sheet (value
 *  from memory); about 30 ms of one core, which throttling keeps affordable. argon2id is the library's default
 *  algorithm, and the encoded form names it. */
const cost = { memoryCost: 19_456, timeCost: 2, parallelism: 1 };

/** A single factor wants length, not odd characters: 15, as NIST SP 800-63B-4 asks (value from memory). */
export const shortestPassword = 15;
export const longestPassword = 256;

export const hashPassword = (password: string): Promise<string> => hash(password, cost);

export async function passwordMatches(passwordHash: string, password: string): Promise<boolean> {
  try {
    return await verify(passwordHash, password);
  } catch {
    // Not an encoded hash: nothing matches it.
    return false;
  }
}

let nobody: Promise<string> | undefined;

/** A hash that no one's password has: checked for an unknown login, so that the answer takes as long. */
export function nobodysHash(): Promise<string> {
  nobody ??= hashPassword("a password that belongs to nobody at all");
  return nobody;
}

export type PasswordProblem = "too-short" | "too-long" | "is-the-login" | "one-letter";

/** What is wrong with a password that someone would choose, or null. */
export function passwordProblem(password: string, login: string): PasswordProblem | null {
  if (password.length < shortestPassword) return "too-short";
  if (password.length > longestPassword) return "too-long";
  if (new Set(password).size < 4) return "one-letter";
  if (password.toLowerCase().replaceAll(login, "").length < 4) return "is-the-login";
  return null;
}

export function passwordProblemWords(problem: PasswordProblem): string {
  switch (problem) {
    case "too-short":
      return `Use at least ${shortestPassword} characters; four or five unrelated words do well.`;
    case "too-long":
      return `Use at most ${longestPassword} characters.`;
    case "one-letter":
      return "Use more than three different characters.";
    case "is-the-login":
      return "Don't build it from the sign-in name.";
  }
}
