// Writes the two weights of Archivo into dist/, for the report crate to take in: fonts.css for pages, with the font's licence,
// and letters-*.ttf for paper, which takes no packed fonts.
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { inflateSync } from "node:zlib";

const home = new URL("../node_modules/@fontsource/archivo/", import.meta.url);
const dist = new URL("../dist/", import.meta.url);
const licence = readFileSync(new URL("LICENSE", home), "utf8").split("\n").slice(0, 6).join("\n").trim();
const font = (subset, weight, ending) => readFileSync(new URL(`files/archivo-${subset}-${weight}-normal.${ending}`, home));

mkdirSync(dist, { recursive: true });
const faces = [400, 600].map(
  (weight) =>
    `@font-face{font-family:Archivo;font-style:normal;font-weight:${weight};font-display:swap;` +
    `src:url(data:font/woff2;base64,${font("latin", weight, "woff2").toString("base64")}) format("woff2")}\n`,
);
writeFileSync(new URL("fonts.css", dist), `/*! ${licence}\nhttps://openfontlicense.org */\n${faces.join("")}`);
for (const weight of [400, 600]) {
  for (const subset of ["latin", "latin-ext"]) {
    writeFileSync(new URL(`letters-${subset}-${weight}.ttf`, dist), unpacked(font(subset, weight, "woff")));
  }
}

// The plain font inside a WOFF 1.0 file (W3C Recommendation, sections 4 and 5): the same tables, each deflated by itself.
function unpacked(woff) {
  const count = woff.readUInt16BE(12);
  const entry = (i) => 44 + 20 * i;
  const power = Math.floor(Math.log2(count));
  const head = Buffer.alloc(12 + 16 * count);
  woff.copy(head, 0, 4, 8);
  head.writeUInt16BE(count, 4);
  head.writeUInt16BE(16 << power, 6);
  head.writeUInt16BE(power, 8);
  head.writeUInt16BE(16 * count - (16 << power), 10);
  const parts = [head];
  let at = head.length;
  for (let i = 0; i < count; i++) {
    const [start, packed, length, sum] = [4, 8, 12, 16].map((k) => woff.readUInt32BE(entry(i) + k));
    const raw = woff.subarray(start, start + packed);
    const table = packed < length ? inflateSync(raw) : raw;
    woff.copy(head, 12 + 16 * i, entry(i), entry(i) + 4);
    [sum, at, length].forEach((word, k) => head.writeUInt32BE(word, 16 + 16 * i + 4 * k));
    const pad = Buffer.alloc((4 - (length % 4)) % 4);
    parts.push(table, pad);
    at += length + pad.length;
  }
  return Buffer.concat(parts);
}
