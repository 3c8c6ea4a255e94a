import type { Object3D } from "three";

/** A piece of the scene: takes data, owns its GPU memory, never fetches and never touches the DOM. */
export interface Part<Data> {
  readonly object: Object3D;
  update(data: Data): void;
  dispose(): void;
}

/** Colours as numbers, read from tokens.css by main. */
export interface Colours {
  readonly ground: number;
  readonly metal: number;
  readonly oil: number;
  readonly way: number;
  readonly bare: number;
  readonly main: number;
}
