/** The lap's series, and what a strip needs of them. Plain numbers, tested without a browser. */
import type { LapAnswer } from "../wire/types";
import { numbersOf } from "./fill";

export interface Series {
  readonly answer: LapAnswer;
  readonly time: Float32Array;
  /** Empty when not known. */
  readonly distance: Float32Array;
  readonly speed: Float32Array;
  readonly engine: Float32Array;
  readonly acceleration: Float32Array;
  readonly place: Float32Array;
  readonly cover: Float32Array;
  readonly bare: Float32Array;
  readonly spaces: Float32Array;
  readonly surfaces: Float32Array;
  readonly doors: Float32Array;
}

export function seriesOf(answer: LapAnswer): Series {
  return {
    answer,
    time: numbersOf(answer.time),
    distance: numbersOf(answer.distance),
    speed: numbersOf(answer.speed),
    engine: numbersOf(answer.engine_speed),
    acceleration: numbersOf(answer.acceleration),
    place: numbersOf(answer.place),
    cover: numbersOf(answer.cover),
    bare: numbersOf(answer.bare),
    spaces: numbersOf(answer.spaces),
    surfaces: numbersOf(answer.surfaces),
    doors: numbersOf(answer.doors),
  };
}

/** The largest of many numbers, and of `least` [any length: arguments of a call are limited]. */
export function mostOf(numbers: Iterable<number>, least = -Infinity): number {
  let most = least;
  for (const n of numbers) if (n > most) most = n;
  return most;
}

/** Times travel in single precision: two that are nearer than this are one [s]. */
const SAME = 1e-3;

/** The row at or before a time. */
export function rowAt(time: ArrayLike<number>, asked: number): number {
  const at = asked + SAME;
  let low = 0;
  let high = time.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((time[middle] ?? Infinity) <= at) low = middle;
    else high = middle - 1;
  }
  return Math.max(0, low);
}

/** `width` values of a row. */
export function row(series: Float32Array, width: number, at: number): number[] {
  return Array.from(series.subarray(at * width, (at + 1) * width));
}

/** covered, thin or bare at a row. */
export function wordAt(series: Series, at: number): "covered" | "thin" | "bare" {
  if (series.bare[at] === 1) return "bare";
  return (series.cover[at] ?? 0) < series.answer.limit ? "thin" : "covered";
}

export interface Stretch {
  readonly word: "covered" | "thin" | "bare";
  readonly from: number;
  /** The row after its last. */
  readonly to: number;
}

/** Stretches of rows with one word. */
export function stretches(series: Series): Stretch[] {
  const found: Stretch[] = [];
  for (let i = 0, from = 0; i < series.time.length; i++) {
    const word = wordAt(series, i);
    if (i + 1 === series.time.length || wordAt(series, i + 1) !== word) {
      found.push({ word, from, to: i + 1 });
      from = i + 1;
    }
  }
  return found;
}

/** At most `count` points of a series that keep every peak: the least and the most of each part. */
export function peaks(x: ArrayLike<number>, y: ArrayLike<number>, count: number): [number, number][] {
  const parts = Math.max(1, Math.floor(count / 2));
  const points: [number, number][] = [];
  for (let p = 0; p < parts; p++) {
    const from = Math.floor((p * x.length) / parts);
    const to = Math.floor(((p + 1) * x.length) / parts);
    if (to <= from) continue;
    let least = from;
    let most = from;
    for (let i = from; i < to; i++) {
      if ((y[i] ?? 0) < (y[least] ?? 0)) least = i;
      if ((y[i] ?? 0) > (y[most] ?? 0)) most = i;
    }
    for (const i of least <= most ? [least, most] : [most, least]) points.push([x[i] ?? 0, y[i] ?? 0]);
  }
  return points;
}

/** A round step for so many ticks over a span: 1, 2 or 5 times a power of ten. */
export function tickStep(span: number, ticks: number): number {
  const rough = Math.max(1e-9, span / Math.max(1, ticks));
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * ([1, 2, 5, 10].find((m) => m * power >= rough) ?? 10);
}
