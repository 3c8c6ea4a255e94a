/**
 * The replay's data as it stands in the page, written by `ReplayBundle::to_json` of `crates/report`.
 * SI units, pan frame: x to the engine's front, y to its left, z up.
 */
import { bytesOf, unpack } from "./code";

/** The layout that this page reads. */
export const FORMAT = "sumpwright-replay 2026-11";

export interface MeshWire {
  readonly points: readonly number[];
  readonly triangles: readonly number[];
  readonly edges: readonly number[];
}

export interface PlateWire extends MeshWire {
  readonly name: string;
}

export interface DoorWire {
  readonly name: string;
  /** Four corners when shut, the first two on the hinge. */
  readonly corners: readonly number[];
  /** Unit vector; a positive turn about it opens. */
  readonly hinge: readonly number[];
}

export interface MomentWire {
  readonly name: string;
  readonly place: string;
  readonly worst: number;
  readonly limit: number;
  readonly times: readonly number[];
  readonly cover: readonly number[];
  /** 1 where the verdict counts the mouth as bare. */
  readonly bare: readonly number[];
  readonly gravity: readonly number[];
  readonly doors: readonly number[];
  readonly fill: string;
}

export interface ReplayWire {
  readonly format: string;
  readonly units: "metric" | "inch";
  readonly n: readonly [number, number, number];
  readonly cell: number;
  readonly origin: readonly [number, number, number];
  readonly open: string;
  readonly shell: MeshWire;
  readonly plates: readonly PlateWire[];
  readonly doors: readonly DoorWire[];
  readonly mouth: { readonly at: readonly number[]; readonly diameter: number };
  readonly car_forward: readonly number[];
  readonly moments: readonly MomentWire[];
}

/** The data of the page. Throws, in words, on another layout. */
export function readReplay(text: string): ReplayWire {
  const data = JSON.parse(text) as ReplayWire;
  if (data.format !== FORMAT) throw new Error(`this page reads "${FORMAT}", its data is "${String(data.format)}"`);
  return data;
}

/** The open cells: share 0..1 of every cell, and the indices of those that are open at all. */
export interface Cells {
  readonly n: readonly [number, number, number];
  readonly share: Float32Array;
  readonly inside: Uint32Array;
}

export function readCells(data: ReplayWire): Cells {
  const count = data.n[0] * data.n[1] * data.n[2];
  const levels = unpack(bytesOf(data.open), count)[0];
  if (!levels) throw new Error("the data has no cells");
  const share = Float32Array.from(levels, (level) => level / 15);
  const inside: number[] = [];
  // A level of 0 here is metal, or so nearly metal that its oil does not show.
  levels.forEach((level, cell) => level > 0 && inside.push(cell));
  return { n: data.n, share, inside: Uint32Array.from(inside) };
}

/** Levels 0..15 of the inside cells, one list a frame. */
export function readFrames(moment: MomentWire, cells: Cells): Uint8Array[] {
  const frames = unpack(bytesOf(moment.fill), cells.inside.length);
  if (frames.length !== moment.times.length) {
    throw new Error(`moment "${moment.name}" has ${frames.length} frames for ${moment.times.length} times`);
  }
  return frames;
}
