// The page is built into `dist`, which the window embeds; tests run in jsdom with the same compiler.
import { svelte } from "@sveltejs/vite-plugin-svelte";
import { svelteTesting } from "@testing-library/svelte/vite";
import { defineConfig } from "vitest/config";

export default defineConfig({
  plugins: [svelte(), svelteTesting()],
  clearScreen: false,
  server: { port: 1420, strictPort: true },
  // The oldest web view that the window supports; `assetsInlineLimit` is 0 so that nothing needs a data address.
  build: { target: "safari16.4", assetsInlineLimit: 0 },
  test: {
    environment: "jsdom",
    setupFiles: ["./src/test-setup.ts"],
    include: ["src/**/*.test.ts"],
    // Accessibility checks walk the whole page, which takes seconds in jsdom on a busy machine.
    testTimeout: 180_000,
  },
});
