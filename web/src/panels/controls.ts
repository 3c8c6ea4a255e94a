/** Moment chooser, scrubber, play, speed, and the numbers of the instant shown. */
import type { State, Store } from "../state";
import { clock } from "../units";
import type { MomentWire } from "../wire/replay";
import { make } from "./make";

/** What is written beside the picture. */
export interface Reading {
  readonly cover: string;
  /** covered, thin or bare. */
  readonly word: string;
  readonly pull: string;
  readonly doors: string;
}

export interface Controls {
  readonly element: HTMLElement;
  show(state: State, moment: MomentWire, reading: Reading): void;
}

const SPEEDS = [0.25, 0.5, 1] as const;

export function createControls(moments: readonly MomentWire[], store: Store): Controls {
  const chooser = make(
    "select",
    { "aria-label": "moment" },
    ...moments.map((m, i) => make("option", { value: String(i) }, `${i + 1}. ${m.name}`)),
  );
  chooser.addEventListener("change", () => {
    const index = Number(chooser.value);
    const moment = moments[index];
    if (moment) store.set({ moment: index, time: moment.worst, playing: false });
  });
  const play = make("button", { type: "button", "aria-pressed": "false" }, "Play");
  play.addEventListener("click", () => store.set({ playing: !store.get().playing }));
  const worst = make("button", { type: "button" }, "Worst instant");
  worst.addEventListener("click", () => {
    const moment = moments[store.get().moment];
    if (moment) store.set({ time: moment.worst, playing: false });
  });
  const speed = make(
    "select",
    { "aria-label": "speed" },
    ...SPEEDS.map((s) => make("option", { value: String(s) }, s === 1 ? "as in the car" : `${s} of real speed`)),
  );
  speed.value = String(store.get().speed);
  speed.addEventListener("change", () => store.set({ speed: Number(speed.value) }));
  const slider = make("input", { type: "range", step: "0.02", "aria-label": "time in the moment" });
  slider.addEventListener("input", () => store.set({ time: Number(slider.value), playing: false }));

  const time = make("b", { id: "replay-time" });
  const cover = make("b", { id: "replay-cover" });
  const pull = make("b");
  const doors = make("span");
  const place = make("span", { class: "quiet" });
  const read = make(
    "p",
    { class: "stage-read" },
    make("span", {}, "time ", time),
    make("span", {}, "over the mouth ", cover),
    make("span", {}, "pull ", pull),
    doors,
    place,
  );
  const element = make(
    "div",
    {},
    read,
    make("div", { class: "stage-row" }, slider),
    make("div", { class: "stage-row" }, play, worst, chooser, speed),
  );
  return {
    element,
    show(state, moment, reading) {
      chooser.value = String(state.moment);
      slider.min = String(moment.times[0] ?? 0);
      slider.max = String(moment.times.at(-1) ?? 0);
      slider.value = String(state.time);
      slider.setAttribute("aria-valuetext", `${clock(state.time)}, ${reading.word}, ${reading.cover}`);
      play.textContent = state.playing ? "Stop" : "Play";
      play.setAttribute("aria-pressed", String(state.playing));
      time.textContent = clock(state.time);
      cover.textContent = `${reading.cover}, ${reading.word}`;
      pull.textContent = reading.pull;
      doors.textContent = reading.doors;
      place.textContent = moment.place;
    },
  };
}
