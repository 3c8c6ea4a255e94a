/** Wires the replay together; the only file that knows all of it. */
import { createControls, type Reading } from "./panels/controls";
import { make } from "./panels/make";
import { createViewport } from "./panels/viewport";
import { createStage, type Stage } from "./scene/stage";
import { coloursNow } from "./tokens";
import { between, blend, createStore, type State } from "./state";
import { degrees, inG, shortLength } from "./units";
import { readCells, readFrames, readReplay, type MomentWire, type ReplayWire } from "./wire/replay";

const place = document.getElementById("replay-stage");
const source = document.getElementById("replay-data");
if (place && source) start(place, source.textContent ?? "");

function start(place: HTMLElement, text: string): void {
  try {
    run(place, readReplay(text));
  } catch (fault) {
    const why = fault instanceof Error ? fault.message : String(fault);
    place.replaceChildren(
      make("p", { role: "status" }, `The replay cannot be shown here: ${why}. Below is the oil at the worst instant.`),
      ...stills(),
    );
  }
}

/** The drawings of the worst instants, which stand in the page anyway. */
function stills(): Node[] {
  const drawing = document.querySelector("#sections figure");
  return drawing ? [drawing.cloneNode(true)] : [];
}

function run(place: HTMLElement, data: ReplayWire): void {
  const cells = readCells(data);
  const worst = data.moments[0];
  if (!worst) return;
  const store = createStore({ moment: 0, time: worst.worst, playing: false, speed: 0.5 });
  const decoded = new Map<number, Uint8Array[]>();
  const framesOf = (index: number, moment: MomentWire): Uint8Array[] => {
    const known = decoded.get(index);
    if (known) return known;
    const frames = readFrames(moment, cells);
    decoded.set(index, frames);
    return frames;
  };

  let stage: Stage | undefined;
  const viewport = createViewport(
    (change) => stage?.turn(change),
    () => stage?.reset(),
  );
  const controls = createControls(data.moments, store);
  stage = createStage(viewport.canvas, data, cells, coloursNow(), viewport.tags);
  place.replaceChildren(viewport.element, viewport.help, controls.element);

  const show = (state: State): void => {
    const moment = data.moments[state.moment];
    if (!moment) return;
    const frames = framesOf(state.moment, moment);
    const at = between(moment.times, state.time);
    const here = frames[at.frame];
    if (!here) return;
    const reading = read(data, moment, at);
    stage.show({
      oil: { here, next: frames[at.frame + 1] ?? here, share: at.share },
      doors: reading.angles,
      gravity: reading.gravity,
      bare: reading.word === "bare",
    });
    controls.show(state, moment, reading);
    viewport.say(
      `Oil in the pan, moment ${state.moment + 1}, ${moment.name}, at ${state.time.toFixed(2)} s: mouth ` +
        `${reading.word}, ${reading.cover} of oil over it, pull ${reading.pull}. ${reading.doors}`,
    );
  };
  store.watch(show);
  store.watch((state) => state.playing && play());
  new ResizeObserver(() => stage.resize(viewport.element.clientWidth, viewport.element.clientHeight)).observe(
    viewport.element,
  );
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => stage.recolour(coloursNow()));
  stage.resize(viewport.element.clientWidth, viewport.element.clientHeight);
  show(store.get());

  // With reduced motion asked for, playing goes in still steps instead of moving.
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let running = false;
  function play(): void {
    if (running) return;
    running = true;
    let before = performance.now();
    const tick = (now: number): void => {
      const state = store.get();
      const moment = data.moments[state.moment];
      running = state.playing && moment !== undefined;
      if (!running || !moment) return;
      const wait = calm.matches ? 700 : 0;
      if (now - before >= wait) {
        const end = moment.times.at(-1) ?? 0;
        const step = calm.matches ? 0.2 : Math.min(0.1, (now - before) / 1000) * state.speed;
        const time = state.time >= end ? (moment.times[0] ?? 0) : Math.min(end, state.time + step);
        before = now;
        store.set({ time });
      }
      requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
  }
}

function read(
  data: ReplayWire,
  moment: MomentWire,
  at: { frame: number; share: number },
): Reading & { gravity: number[]; angles: number[] } {
  const cover = blend(moment.cover, 1, at)[0] ?? 0;
  const gravity = blend(moment.gravity, 3, at);
  const angles = blend(moment.doors, data.doors.length, at);
  const bare = moment.bare[Math.round(at.frame + at.share)] === 1;
  const word = bare ? "bare" : cover < moment.limit ? "thin" : "covered";
  const doors = data.doors
    .map((door, i) => `${door.name} ${(angles[i] ?? 0) > 0.02 ? `open ${degrees(angles[i] ?? 0)}` : "shut"}`)
    .join(", ");
  return {
    cover: shortLength(cover, data.units),
    word,
    pull: inG(Math.hypot(...gravity)),
    doors,
    gravity,
    angles,
  };
}
