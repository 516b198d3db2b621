import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts", "tests/**/*.test.tsx"],
    // Two cores is what a small machine has; browser stories and brokers share them.
    maxWorkers: 2,
    testTimeout: 120_000,
    hookTimeout: 60_000,
  },
});
