// Writes dist/fonts.css: the two weights of Archivo as data, with their licence, for the report crate to take in.
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";

const home = new URL("../node_modules/@fontsource/archivo/", import.meta.url);
const licence = readFileSync(new URL("LICENSE", home), "utf8").split("\n").slice(0, 6).join("\n").trim();
const faces = [400, 600].map((weight) => {
  const file = readFileSync(new URL(`files/archivo-latin-${weight}-normal.woff2`, home));
  return (
    `@font-face{font-family:Archivo;font-style:normal;font-weight:${weight};font-display:swap;` +
    `src:url(data:font/woff2;base64,${file.toString("base64")}) format("woff2")}\n`
  );
});
mkdirSync(new URL("../dist/", import.meta.url), { recursive: true });
writeFileSync(new URL("../dist/fonts.css", import.meta.url), `/*! ${licence}\nhttps://openfontlicense.org */\n${faces.join("")}`);
