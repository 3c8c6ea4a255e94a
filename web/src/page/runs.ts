/** Proofs: runs of the solver that go on by themselves, watched, stopped, gone on with, and what they wrote. */
import { make } from "../panels/make";
import { STANDARD_GRAVITY, type UnitOrder } from "../units";
import { bytesOf, unpack } from "../wire/code";
import type { FramesAnswer, Run, RunFile, RunKind, SceneWire, Shown } from "../wire/types";
import { ask, download } from "./api";
import { badge, createPanel, type Panel } from "./panel";

export interface Runs {
  readonly element: HTMLElement;
  seen(run: Run): void;
  forgotten(id: number): void;
  all(runs: readonly Run[]): void;
}

const STATES: Readonly<Record<Run["state"], string>> = {
  waiting: "waits for its turn",
  running: "computes",
  stopped: "stopped; it can go on where it was",
  done: "done",
  failed: "could not be computed",
};
const KINDS: Readonly<Record<RunKind, string>> = { check: "proof", sketch: "sketch as a report", shop: "folder for the bench" };
/** Files that most people want first. */
const FIRST = /(report\.html|bays\.html|read-me\.txt|cards\.pdf)$/;

export function createRuns(start: (kind: RunKind, cell: string | null, brief: boolean) => Promise<void>, units: () => UnitOrder, fail: (fault: unknown) => void): Runs {
  const known = new Map<number, Run>();
  const cards = new Map<number, Card>();
  const list = make("ol", { class: "runs", "aria-live": "polite" });
  const none = make("p", { class: "quiet" }, "Nothing has been put to the proof yet.");
  const cell = make("input", { type: "text", placeholder: "chosen from the pan", "aria-label": "cell size, such as 8 mm", size: "18" });
  const brief = make("input", { type: "checkbox", checked: "" });
  const button = (words: string, kind: RunKind): HTMLButtonElement => {
    const made = make("button", { type: "button" }, words);
    made.addEventListener("click", () => void start(kind, cell.value.trim() || null, brief.checked).catch(fail));
    return made;
  };
  const element = make(
    "div",
    {},
    make(
      "p",
      {},
      "The sketch above is for trying. A proof computes the oil in three dimensions on the worst moments: minutes. It goes on when this page is closed, and is taken up again when the program is.",
    ),
    make(
      "div",
      { class: "stage-row" },
      button("Prove this pan", "check"),
      button("Report of the sketch", "sketch"),
      button("Folder for the bench", "shop"),
      make("label", {}, "cells ", cell),
      make("label", { class: "tick" }, brief, " without the search for the lowest fill"),
    ),
    none,
    list,
  );
  const tell = (run: Run): void => {
    known.set(run.id, run);
    let card = cards.get(run.id);
    if (!card) {
      card = createCard(run, units, fail);
      cards.set(run.id, card);
      list.prepend(card.element);
    }
    card.show(run);
    none.hidden = known.size > 0;
  };
  const drop = (id: number): void => {
    cards.get(id)?.close();
    cards.get(id)?.element.remove();
    cards.delete(id);
    known.delete(id);
    none.hidden = known.size > 0;
  };
  return {
    element,
    seen: tell,
    forgotten: drop,
    all(runs) {
      for (const id of known.keys()) if (!runs.some((run) => run.id === id)) drop(id);
      for (const run of runs) tell(run);
    },
  };
}

interface Card {
  readonly element: HTMLElement;
  show(run: Run): void;
  close(): void;
}

function createCard(first: Run, units: () => UnitOrder, fail: (fault: unknown) => void): Card {
  let run = first;
  let watch: Watch | undefined;
  const title = make("h3");
  const line = make("p");
  const bar = make("progress", { max: "1", "aria-label": `how far run ${first.id} is` });
  const verdict = make("p");
  const faults = make("div");
  const order = (what: "stop" | "resume" | "forget", words: string): HTMLButtonElement => {
    const made = make("button", { type: "button" }, words);
    made.addEventListener("click", () => void ask(`/api/runs/${run.id}/${what}`, {}).catch(fail));
    return made;
  };
  const [stop, resume, forget] = [order("stop", "Stop"), order("resume", "Go on"), order("forget", "Take off the list")];
  const look = make("button", { type: "button" }, "Watch the oil");
  const scene = make("div");
  look.addEventListener("click", () => {
    if (watch) {
      watch.close();
      watch = undefined;
      scene.replaceChildren();
    } else {
      watch = createWatch(run.id, units(), fail);
      scene.replaceChildren(watch.element);
    }
    look.textContent = watch ? "Close the picture" : "Watch the oil";
  });
  const files = make("details", { class: "more" });
  const element = make("li", {}, title, line, bar, verdict, faults, make("div", { class: "stage-row" }, stop, resume, look, forget), scene, files);
  let listed = "";
  return {
    element,
    show(next) {
      run = next;
      title.textContent = `${run.id}. ${run.name}: ${KINDS[run.ask.kind]}`;
      const changes = run.ask.variant.changes.length;
      line.textContent = `${STATES[run.state]}${changes ? `, with ${changes} change${changes > 1 ? "s" : ""}` : ""}${run.line ? `. ${run.line}` : ""}`;
      bar.hidden = run.state !== "running" && run.state !== "stopped";
      if (run.share === null) bar.removeAttribute("value");
      else bar.value = run.share;
      verdict.hidden = !run.verdict;
      if (run.verdict) verdict.replaceChildren(badge(run.verdict.word), ` ${run.verdict.sentence}`);
      faults.replaceChildren(...run.faults.map((f) => make("p", { class: "warning" }, `${f.what}. ${f.mend}`)));
      stop.hidden = run.state !== "running" && run.state !== "waiting";
      resume.hidden = run.state !== "stopped" && run.state !== "failed";
      forget.hidden = run.state === "running" || run.state === "waiting";
      look.hidden = run.frames === 0;
      watch?.grown(run);
      const names = JSON.stringify(run.files);
      if (names !== listed) {
        listed = names;
        files.hidden = run.files.length === 0;
        files.replaceChildren(make("summary", {}, `${run.files.length} files`), ...links(run, fail));
        files.open = run.files.some((file) => FIRST.test(file.name));
      }
    },
    close() {
      watch?.close();
    },
  };
}

function links(run: Run, fail: (fault: unknown) => void): HTMLElement[] {
  const path = (file: RunFile): string => file.name.split("/").map(encodeURIComponent).join("/");
  const line = (file: RunFile): HTMLElement => {
    const get = make("button", { type: "button", class: "link" }, file.name);
    get.addEventListener("click", () => void download(`/api/runs/${run.id}/files/${path(file)}`, file.name).catch(fail));
    const parts: (Node | string)[] = [get, ` ${file.size < 1e6 ? `${Math.ceil(file.size / 1e3)} kB` : `${(file.size / 1e6).toFixed(1)} MB`}`];
    if (/\.(html|svg|pdf|txt)$/.test(file.name)) {
      const show = make("button", { type: "button", class: "link" }, "look at it");
      show.addEventListener("click", () => {
        const tab = window.open("about:blank", "_blank");
        void ask<Shown>(`/api/runs/${run.id}/show/${path(file)}`, {}).then(
          (shown) => tab && (tab.location.href = shown.address),
          (fault: unknown) => {
            tab?.close();
            fail(fault);
          },
        );
      });
      parts.push(", ", show);
    }
    return make("li", {}, ...parts);
  };
  const first = run.files.filter((file) => FIRST.test(file.name));
  const rest = run.files.filter((file) => !FIRST.test(file.name));
  return [make("ul", { class: "files" }, ...[...first, ...rest].map(line))];
}

interface Watch {
  readonly element: HTMLElement;
  grown(run: Run): void;
  close(): void;
}

/** Pictures of a run as they come, the newest unless the hand holds an older one. */
function createWatch(id: number, units: UnitOrder, fail: (fault: unknown) => void): Watch {
  const panel: Panel = createPanel(`run ${id}`);
  const chooser = make("select", { "aria-label": "moment" });
  const slider = make("input", { type: "range", min: "0", step: "1", value: "0", "aria-label": "picture" });
  const element = make("div", {}, panel.element, make("div", { class: "stage-row" }, chooser, slider));
  let got: FramesAnswer[] = [];
  let scene: SceneWire | undefined;
  let cells = 0;
  let busy = false;
  let again = false;
  const frames = (): { time: number; cover: number | null; gravity: number[]; doors: number[]; fill: string }[] =>
    got.flatMap((part) =>
      part.times.map((time, i) => {
        const doors = part.times.length ? part.doors.length / part.times.length : 0;
        return {
          time,
          cover: part.cover[i] ?? null,
          gravity: part.gravity.slice(3 * i, 3 * i + 3),
          doors: part.doors.slice(doors * i, doors * (i + 1)),
          fill: part.fills[i] ?? "",
        };
      }),
    );
  const draw = (): void => {
    const frame = frames()[Number(slider.value)];
    if (!frame || !scene) return;
    const levels = unpack(bytesOf(frame.fill), cells)[0] ?? new Uint8Array(cells);
    const pull = frame.gravity.length ? frame.gravity : [0, 0, -STANDARD_GRAVITY];
    panel.show({
      oil: { levels },
      gravity: pull,
      doors: frame.doors,
      cover: frame.cover,
      word: "not judged yet",
      spaces: [],
      when: `as the solver has it, at ${frame.time.toFixed(2)} s`,
    });
  };
  const fetchMore = async (): Promise<void> => {
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    try {
      const count = frames().length;
      const held = Number(slider.value) < count - 1;
      const moment = chooser.value || "0";
      const answer = await ask<FramesAnswer>(`/api/runs/${id}/frames?moment=${moment}&from=${count}`);
      if (moment !== (chooser.value || "0")) {
        // Another moment was chosen meanwhile: these are not its pictures.
        busy = false;
        return await fetchMore();
      }
      // An answer holds so many pictures at most; there may be more.
      if (answer.times.length > 0) again = true;
      if (answer.scene) {
        scene = answer.scene;
        panel.scene(scene, units);
        cells = bytesOf(scene.space_of).length;
      }
      got.push(answer);
      if (chooser.options.length !== answer.moments.length) {
        const chosen = chooser.value || "0";
        chooser.replaceChildren(...answer.moments.map((name, i) => make("option", { value: String(i) }, `${i + 1}. ${name}`)));
        chooser.value = chosen;
      }
      const last = Math.max(0, frames().length - 1);
      slider.max = String(last);
      if (!held) slider.value = String(last);
      draw();
    } catch (fault) {
      fail(fault);
    }
    busy = false;
    if (again) {
      again = false;
      await fetchMore();
    }
  };
  chooser.addEventListener("change", () => {
    got = [];
    slider.value = "0";
    void fetchMore();
  });
  slider.addEventListener("input", draw);
  void fetchMore();
  return { element, grown: () => void fetchMore(), close: () => panel.dispose() };
}
