import { describe, expect, test } from "vitest";
import { canRedo, changed, changesOf, cleared, FRESH, read, redone, undone, written } from "../src/page/draft";
import { levelsOf, numbersOf, roomOf } from "../src/page/fill";
import { accelerationAt, placeOf } from "../src/page/round";
import { mostOf, peaks, rowAt, seriesOf, stretches, tickStep, wordAt } from "../src/page/series";
import { newest } from "../src/page/newest";
import { valueOf } from "../src/page/controls";
import { length, volume } from "../src/units";
import type { LapAnswer, SceneWire } from "../src/wire/types";

const base64 = (bytes: Uint8Array): string => btoa(String.fromCharCode(...bytes));
const packed = (numbers: number[]): string => base64(new Uint8Array(Float32Array.from(numbers).buffer));

/** Two cells by one by four, all open, of one space: each open level is a run of one token. */
function scene(): SceneWire {
  const mesh = { points: [], triangles: [], edges: [] };
  // A token from 0x80 up: bits 4-6 one less than the run, low bits the step; eight cells at level 15.
  return {
    n: [2, 1, 4],
    cell: 0.01,
    origin: [0, 0, -0.04],
    open: base64(Uint8Array.from([0x80 | (7 << 4) | 15])),
    space_of: base64(Uint8Array.from([0, 0, 0, 0, 0, 0, 0, 255])),
    shell: mesh,
    plates: [],
    doors: [],
    mouth: null,
    crank: null,
    car_forward: [1, 0, 0],
    car_up: [0, 0, 1],
    spaces: [{ name: "all", volume: 8e-6, middle: [0.01, 0.005, -0.02], mouth: true }],
  };
}

describe("cells under a plane", () => {
  test("level oil fills layer by layer, the layer it stands in by half", () => {
    const room = roomOf(scene());
    expect(room.centres.length).toBe(24);
    // The surface lies 25 mm under the flange: the second layer from below is half full.
    expect([...levelsOf(room, [0, 0, 1, -0.025])]).toEqual([15, 15, 8, 8, 0, 0, 0, 0]);
  });
  test("a cell of no space holds no oil", () => {
    expect([...levelsOf(roomOf(scene()), [0, 0, 1, 1])]).toEqual([15, 15, 15, 15, 15, 15, 15, 0]);
  });
  test("a leaning surface stands higher on one side", () => {
    const lean = Math.SQRT1_2;
    const levels = levelsOf(roomOf(scene()), [lean, 0, lean, lean * (0.01 - 0.025)]);
    expect(levels[2]).toBeGreaterThan(levels[3] ?? 15);
  });
  test("a scene that does not hold together is refused in words", () => {
    expect(() => roomOf({ ...scene(), space_of: base64(Uint8Array.from([0])) })).toThrow("do not fit");
  });
});

describe("changes", () => {
  const one = changed(FRESH, "fill", '"5 L"', '"4 L"', false);
  test("can be taken back and brought again", () => {
    expect(changesOf(one)).toEqual([{ key: "fill", value: '"5 L"' }]);
    expect(changesOf(undone(one))).toEqual([]);
    expect(changesOf(redone(undone(one)))).toEqual(changesOf(one));
    expect(canRedo(one)).toBe(false);
  });
  test("back to the saved value is no change", () => {
    expect(changesOf(changed(one, "fill", '"4 L"', '"4 L"', false))).toEqual([]);
  });
  test("a slider on the move is one step", () => {
    const moved = changed(changed(one, "fill", '"5.1 L"', '"4 L"', true), "fill", '"5.2 L"', '"4 L"', true);
    expect(changesOf(undone(moved))).toEqual([]);
  });
  test("clearing is a step too", () => {
    expect(changesOf(undone(cleared(one)))).toEqual(changesOf(one));
  });
  test("they outlive the page, and what is spoilt is none", () => {
    expect(changesOf(read(written(one)))).toEqual(changesOf(one));
    for (const text of [null, "", "{", '{"steps":[],"at":0}', '{"steps":[[{"key":1}]],"at":0}', '{"steps":[[]],"at":7}']) expect(read(text)).toBe(FRESH);
  });
  test("a reload shows the state that was shown, however many steps there were", () => {
    let draft = FRESH;
    for (let n = 1; n <= 30; n++) draft = changed(draft, "fill", `"${n} L"`, null, false);
    for (let n = 0; n < 5; n++) draft = undone(draft);
    for (const one of [draft, redone(draft), undone(draft)]) expect(changesOf(read(written(one)))).toEqual(changesOf(one));
    expect(canRedo(read(written(draft)))).toBe(true);
  });
  test("are written as the design file writes them", () => {
    expect(valueOf(4.8, "L")).toBe('"4.8 L"');
    expect(valueOf(0.1 + 0.2, "")).toBe("0.3");
  });
});

describe("the drive", () => {
  const answer = {
    time: packed([0, 0.5, 1, 1.5]),
    distance: "", speed: "", engine_speed: "", acceleration: "", place: "",
    cover: packed([0.02, 0.004, 0, 0.02]),
    bare: packed([0, 0, 1, 0]),
    spaces: "", surfaces: "", doors: "", limit: 0.006,
  } as unknown as LapAnswer;
  const series = seriesOf(answer);
  test("series come back as they were packed", () => expect([...numbersOf(packed([1.5, -2]))]).toEqual([1.5, -2]));
  test("rows by time", () => expect([-1, 0, 0.49, 0.5, 9].map((t) => rowAt(series.time, t))).toEqual([0, 0, 0, 1, 3]));
  test("a time that went through single precision is its own row", () => {
    const time = Float32Array.from({ length: 10_000 }, (_, i) => i * 0.02);
    expect([4304, 7777].map((i) => rowAt(time, i * 0.02))).toEqual([4304, 7777]);
  });
  test("drives of any length", () => expect(mostOf(new Float32Array(300_000).fill(2), 1)).toBe(2));
  test("words and stretches", () => {
    expect([0, 1, 2, 3].map((i) => wordAt(series, i))).toEqual(["covered", "thin", "bare", "covered"]);
    expect(stretches(series).map((s) => [s.word, s.from, s.to])).toEqual([["covered", 0, 1], ["thin", 1, 2], ["bare", 2, 3], ["covered", 3, 4]]);
  });
  test("no trough is lost in a short drawing", () => {
    const y = new Float32Array(5000).fill(1);
    y[3333] = 0;
    expect(peaks(y.map((_, i) => i), y, 100).some(([, v]) => v === 0)).toBe(true);
  });
  test("ticks are round", () => expect([tickStep(100, 9), tickStep(7, 5)]).toEqual([20, 2]));
});

describe("the round map", () => {
  test("braking pushes the oil up the map, a left-hander to its right", () => {
    expect(placeOf([-1, 0], 2)[1]).toBeLessThan(placeOf([0, 0], 2)[1]);
    expect(placeOf([0, 1], 2)[0]).toBeGreaterThan(placeOf([0, 0], 2)[0]);
  });
  test("there and back, and never past the rim", () => {
    const [x, y] = placeOf([-0.4, 0.7], 1.6);
    const back = accelerationAt(x, y, 1.6);
    expect(back[0]).toBeCloseTo(-0.4);
    expect(back[1]).toBeCloseTo(0.7);
    expect(Math.hypot(...accelerationAt(1000, 1000, 1.6))).toBeCloseTo(1.6);
  });
});

describe("questions", () => {
  test("the newest takes the place of those that wait, the first is answered", async () => {
    const put: number[] = [];
    const shown: number[] = [];
    const question = newest(
      async (n: number) => {
        put.push(n);
        await Promise.resolve();
        return n;
      },
      (n) => shown.push(n),
      () => undefined,
    );
    for (const n of [1, 2, 3, 4]) question(n);
    await new Promise((done) => setTimeout(done, 5));
    expect(put).toEqual([1, 4]);
    expect(shown).toEqual([1, 4]);
  });
  test("a fault does not stop the next", async () => {
    const faults: unknown[] = [];
    const shown: number[] = [];
    const question = newest(
      (n: number) => (n === 1 ? Promise.reject(new Error("no")) : Promise.resolve(n)),
      (n) => shown.push(n),
      (fault) => faults.push(fault),
    );
    question(1);
    question(2);
    await new Promise((done) => setTimeout(done, 5));
    expect([faults.length, shown]).toEqual([1, [2]]);
  });
});

test("both units, the page's own first", () => {
  expect(length(0.0254, "inch")).toBe("1.00 in (25 mm)");
  expect(volume(1e-3, "metric")).toBe("1.00 L (1.06 qt)");
});
