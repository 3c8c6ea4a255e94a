// Builds the page of `sumpwright open` into dist/page, which the serve crate takes in. Scripts and styles lie in files of their
// own: the page's policy lets nothing else run.
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

export default defineConfig({
  root: fileURLToPath(new URL("./page", import.meta.url)),
  base: "./",
  build: {
    target: "es2022",
    outDir: "../dist/page",
    emptyOutDir: true,
    chunkSizeWarningLimit: 900,
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
  },
});
