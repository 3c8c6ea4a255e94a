// Builds the replay into one plain file, dist/replay.js, which the report crate takes in as text.
import { readFileSync } from "node:fs";
import { defineConfig } from "vitest/config";

const licence = readFileSync(new URL("./node_modules/three/LICENSE", import.meta.url), "utf8").trim();

export default defineConfig({
  build: {
    target: "es2022",
    outDir: "dist",
    emptyOutDir: true,
    chunkSizeWarningLimit: 900,
    lib: { entry: "src/main.ts", formats: ["iife"], name: "sumpwrightReplay", fileName: () => "replay.js" },
    rolldownOptions: { output: { postBanner: `/*! three.js\n${licence}\n*/` } },
  },
  test: { include: ["test/**/*.test.ts"] },
});
