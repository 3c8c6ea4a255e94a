/**
 * Reads fill frames back: 16 levels, difference from the frame before, run lengths, base64.
 * The other side and the layout stand in `crates/report/src/replay/code.rs`.
 */

/** Bytes of base64 text. Throws on text that is none. */
export function bytesOf(base64: string): Uint8Array {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

/** Frames of `cells` levels 0..15. Throws when the tokens do not fall into whole frames. */
export function unpack(tokens: Uint8Array, cells: number): Uint8Array[] {
  const frames: Uint8Array[] = [];
  const frame = new Uint8Array(cells);
  let at = 0;
  for (const token of tokens) {
    const run = token < 0x80 ? token + 1 : ((token >> 4) & 7) + 1;
    const step = token < 0x80 ? 0 : token & 15;
    if (at + run > cells) throw new Error(`fill frame ${frames.length} runs past its ${cells} cells`);
    if (step !== 0) for (let i = at; i < at + run; i++) frame[i] = ((frame[i] ?? 0) + step) & 15;
    at += run;
    if (at === cells) {
      frames.push(frame.slice());
      at = 0;
    }
  }
  if (at !== 0) throw new Error(`the last fill frame ends after ${at} of ${cells} cells`);
  return frames;
}
