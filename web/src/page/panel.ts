/** A pan on the bench: the picture, how the oil stands in it, a cut through it, a picture of it to keep. */
import { make } from "../panels/make";
import { createViewport } from "../panels/viewport";
import { createStage, type Cut, type Stage } from "../scene/stage";
import { inG, length, STANDARD_GRAVITY, volume, type UnitOrder } from "../units";
import { coloursNow } from "../tokens";
import type { SceneWire } from "../wire/types";
import { levelsOf, roomOf, type Room } from "./fill";
import { mostOf } from "./series";

/** How the oil stands. */
export interface Stand {
  /** `up` and `height` of each space, four numbers a space; or levels of the open cells as the solver has them. */
  readonly oil: { readonly surfaces: ArrayLike<number> } | { readonly levels: Uint8Array };
  /** Apparent gravity, pan frame [m/s²]. */
  readonly gravity: readonly number[];
  /** Opening of each door [rad]. */
  readonly doors: readonly number[];
  /** Oil over the mouth [m]; none where it is not known. */
  readonly cover: number | null;
  /** covered, thin or bare. */
  readonly word: string;
  /** Oil of each space [m³]; empty when it is not known. */
  readonly spaces: readonly number[];
  /** What the picture is of: "standing, tilted by hand", "at 12.3 s, in the long left". */
  readonly when: string;
}

export interface Panel {
  readonly element: HTMLElement;
  scene(scene: SceneWire, units: UnitOrder): void;
  show(stand: Stand): void;
  /** The picture as PNG. */
  picture(): Promise<Blob | null>;
  readonly canvas: HTMLCanvasElement;
  dispose(): void;
}

/** Fill, dots or hatch before the word, so that the state is told without colour. */
export function badge(word: string): HTMLElement {
  return make("span", { class: `state state-${word.replace(/[^a-z]/g, "")}` }, make("i", { "aria-hidden": "true" }), word);
}

export function createPanel(name: string): Panel {
  let stage: Stage | undefined;
  let room: Room | undefined;
  let drawn = "";
  let units: UnitOrder = "metric";
  let last: Stand | undefined;
  const viewport = createViewport(
    (change) => stage?.turn(change),
    () => stage?.reset(),
  );
  const cover = make("p", { class: "hero", "aria-live": "off" });
  const facts = make("p", { class: "quiet stand-when" });
  const spaces = make("ul", { class: "spaces" });
  const cutter = createCutter((cut) => stage?.cut(cut));
  const fault = make("p", { class: "warning", hidden: "" });
  const element = make(
    "div",
    { class: "panel" },
    fault,
    viewport.element,
    make("div", { class: "stand" }, cover, facts, spaces),
    make("details", { class: "more" }, make("summary", {}, "Turn it, cut it"), viewport.help, cutter.element),
  );
  const watch = new ResizeObserver(() => stage?.resize(viewport.element.clientWidth, viewport.element.clientHeight));
  watch.observe(viewport.element);
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const recolour = (): void => stage?.recolour(coloursNow());
  dark.addEventListener("change", recolour);

  const show = (stand: Stand): void => {
    last = stand;
    if (!room) return;
    const levels = "levels" in stand.oil ? stand.oil.levels : levelsOf(room, stand.oil.surfaces);
    stage?.show({
      oil: { here: levels, next: levels, share: 0 },
      doors: stand.doors,
      gravity: stand.gravity,
      bare: stand.word === "bare",
    });
    const over = stand.cover === null ? "how much oil is not known" : `${length(stand.cover, units)} of oil`;
    cover.replaceChildren(...(stand.cover === null ? [] : [make("b", {}, length(stand.cover, units)), " over the mouth "]), badge(stand.word));
    const pull = inG(Math.hypot(...stand.gravity));
    facts.textContent = `${stand.when}; pull ${pull}.`;
    const names = room.scene.spaces.map((space) => space.name);
    spaces.replaceChildren(
      ...stand.spaces.map((held, i) => make("li", {}, `${names[i] ?? "space"} `, make("b", {}, volume(held, units)))),
    );
    viewport.say(`${name}: ${stand.when}. Mouth ${stand.word}, ${over} over it, pull ${pull}.`);
  };

  return {
    element,
    canvas: viewport.canvas,
    scene(scene, order) {
      units = order;
      const text = JSON.stringify(scene);
      if (text === drawn) return;
      drawn = text;
      room = roomOf(scene);
      const plates = scene.plates.map((plate) => ({ name: plate.name, ...plate.mesh }));
      try {
        if (stage) stage.replace({ ...scene, plates }, room.cells);
        else stage = createStage(viewport.canvas, { ...scene, plates }, room.cells, coloursNow(), viewport.tags);
        fault.hidden = true;
      } catch (why) {
        fault.hidden = false;
        fault.textContent = `The pan cannot be drawn here: ${why instanceof Error ? why.message : String(why)}. All numbers stand.`;
      }
      cutter.reach(scene);
      stage?.resize(viewport.element.clientWidth, viewport.element.clientHeight);
      if (last) show(last);
    },
    show,
    picture() {
      stage?.drawNow();
      return new Promise((done) => viewport.canvas.toBlob(done, "image/png"));
    },
    dispose() {
      watch.disconnect();
      dark.removeEventListener("change", recolour);
      stage?.dispose();
    },
  };
}

/** Cuts the pan open along an axis. */
function createCutter(cut: (cut: Cut | null) => void): { element: HTMLElement; reach(scene: SceneWire): void } {
  const ways = ["nowhere", "across the engine", "along the engine", "level"];
  const where = make("select", { "aria-label": "cut" }, ...ways.map((way, i) => make("option", { value: String(i) }, way)));
  const slider = make("input", { type: "range", min: "0", max: "1", step: "0.005", value: "0.5", "aria-label": "place of the cut", disabled: "" });
  let box: { low: number[]; high: number[] } = { low: [0, 0, 0], high: [0, 0, 0] };
  const tell = (): void => {
    const chosen = Number(where.value);
    slider.disabled = chosen === 0;
    const axis = (chosen - 1) as 0 | 1 | 2;
    const [low, high] = [box.low[axis] ?? 0, box.high[axis] ?? 0];
    cut(chosen === 0 ? null : { axis, at: low + Number(slider.value) * (high - low) });
  };
  where.addEventListener("change", tell);
  slider.addEventListener("input", tell);
  return {
    element: make("div", { class: "stage-row" }, make("label", {}, "cut ", where), slider),
    reach(scene) {
      const points = scene.shell.points;
      const axis = (a: number): number[] => points.filter((_, i) => i % 3 === a);
      box = { low: [0, 1, 2].map((a) => -mostOf(axis(a).map((p) => -p))), high: [0, 1, 2].map((a) => mostOf(axis(a))) };
      tell();
    },
  };
}

/** Apparent gravity in the pan frame for an acceleration of the car in g (forward, left, up). */
export function gravityOf(scene: SceneWire, acceleration: readonly number[]): number[] {
  const [f, u] = [scene.car_forward, scene.car_up];
  const left = [u[1] * f[2] - u[2] * f[1], u[2] * f[0] - u[0] * f[2], u[0] * f[1] - u[1] * f[0]];
  return [0, 1, 2].map(
    (i) =>
      -STANDARD_GRAVITY *
      ((acceleration[0] ?? 0) * (f[i] ?? 0) +
        (acceleration[1] ?? 0) * (left[i] ?? 0) +
        (1 + (acceleration[2] ?? 0)) * (u[i] ?? 0)),
  );
}
