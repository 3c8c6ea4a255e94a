/** The page of a folder of designs; the only file that knows all of it. */
import { make } from "../panels/make";
import { length, rpm, volume, type UnitOrder } from "../units";
import type { Event, Fault, LapAnswer, PanAnswer, Project, RoundAnswer, Run, RunAsk, SaveAnswer, StillAnswer, StillAsk, Variant } from "../wire/types";
import { ask, listen, Refused, save } from "./api";
import { createCompare, standAt } from "./compare";
import { createControls } from "./controls";
import { createCourse } from "./course";
import { canRedo, canUndo, changed, changesOf, cleared, read, redone, undone, written, type Draft, FRESH } from "./draft";
import { createPlayer } from "./film";
import { createKeep } from "./keep";
import { newest } from "./newest";
import { badge, createPanel, gravityOf } from "./panel";
import { createRound } from "./round";
import { createRuns } from "./runs";
import { createSections } from "./sections";
import { mostOf, row, rowAt, seriesOf, type Series } from "./series";
import { store, stored } from "./store";
import { createStrip } from "./strip";
import { fileOf } from "./svg";

const page = document.getElementById("page");
if (page) void open(page);

async function open(place: HTMLElement): Promise<void> {
  try {
    const project = await ask<Project>("/api/project");
    lay(place, project);
  } catch (fault) {
    const words = fault instanceof Error ? fault.message : String(fault);
    place.replaceChildren(make("h1", {}, "The bench cannot be laid out"), make("p", { role: "alert" }, words));
  }
  place.removeAttribute("aria-busy");
}

function lay(place: HTMLElement, first: Project): void {
  let project = first;
  let design = first.opened ?? first.designs[0]?.file ?? "";
  let draft: Draft = FRESH;
  let pan: PanAnswer | undefined;
  let series: Series | undefined;
  /** Car's acceleration in g: forward, left, up. */
  let acceleration: readonly number[] = [0, 0, 0];
  let engine: number | undefined;
  let time: number | undefined;
  /** Whether the hand tilts the pan; else it is on the drive. */
  let tilted = false;
  let digest: string | null | undefined;
  const units = (): UnitOrder => (pan?.units === "inch" ? "inch" : "metric");
  const variant = (): Variant => ({ design, changes: [...changesOf(draft)] });

  // What is said.
  const note = make("div", { class: "notes", role: "status" });
  const linked = make("p", { class: "warning", role: "status", hidden: "" });
  const say = (words: string, grave = false): void => {
    const close = make("button", { type: "button", class: "link" }, "seen");
    const line = make("p", grave ? { class: "warning" } : {}, words, " ", close);
    close.addEventListener("click", () => line.remove());
    note.append(line);
    while (note.childElementCount > 4) note.firstElementChild?.remove();
  };
  const fail = (fault: unknown): void => say(fault instanceof Error ? fault.message : String(fault), true);
  /** Faults of the design: at their controls, or all together. */
  const wrong = make("div", { role: "alert" });
  const faulty = (fault: unknown): void => {
    if (!(fault instanceof Refused)) {
      fail(fault);
      return;
    }
    const rest = controls.faults(fault.faults);
    const line = (f: Fault): HTMLElement => make("p", { class: "warning" }, `${f.what}. ${f.mend} (${f.place})`);
    wrong.replaceChildren(...rest.map(line));
    if (rest.length === 0) wrong.replaceChildren(make("p", { class: "warning" }, "A change below does not go; what is shown is the pan before it."));
  };

  // The parts.
  const word = make("p", { class: "word-line" });
  const sentence = make("h1", { "aria-live": "polite" });
  const numbers = make("dl", { class: "numbers" });
  const old = make("p", { class: "quiet", role: "status", hidden: "" }, "The verdict and its numbers are of the pan before the last change; the new ones are being worked out.");
  const panel = createPanel("The pan");
  const round = createRound((next) => {
    acceleration = next;
    tilted = true;
    time = undefined;
    askStill({ variant: variant(), acceleration: next, engine_speed: engine ?? 0 });
  });
  const motor = make("input", { type: "range", min: "0", max: "100", step: "1", "aria-label": "engine speed" });
  const motorSaid = make("b");
  motor.addEventListener("input", () => {
    engine = Number(motor.value);
    tellMotor();
    tilted = true;
    time = undefined;
    askStill({ variant: variant(), acceleration: [acceleration[0] ?? 0, acceleration[1] ?? 0, 0], engine_speed: engine });
  });
  const tellMotor = (): void => {
    motorSaid.textContent = engine ? rpm(engine) : "off, all oil home";
    motor.setAttribute("aria-valuetext", motorSaid.textContent);
  };
  const strip = createStrip((at) => goTo(at));
  const course = createCourse((at) => goTo(at));
  const player = createPlayer(
    () => [series?.time[0] ?? 0, series?.time.at(-1) ?? 0],
    () => time ?? series?.time[0] ?? 0,
    (at) => goTo(at),
    panel.canvas,
    say,
  );
  const controls = createControls((control, value, moving) => step(changed(draft, control.key, value, control.saved, moving)));
  const keep = createKeep(
    {
      undo: () => step(undone(draft)),
      redo: () => step(redone(draft)),
      clear: () => step(cleared(draft)),
      save: keepAs,
    },
    fail,
  );
  const compare = createCompare(() => design, units, () => pointBeside(), fail);
  const runs = createRuns(
    async (kind, cell, brief) => {
      const wanted: RunAsk = { variant: variant(), kind, cell, brief };
      runs.seen(await ask<Run>("/api/runs", wanted));
    },
    units,
    fail,
  );
  const sections = createSections(variant, fail);

  // Questions.
  const askPan = newest(
    (asked: Variant) => ask<PanAnswer>("/api/pan", asked),
    (answer, asked) => {
      if (asked.design !== design) return;
      pan = answer;
      digest = answer.digest;
      wrong.replaceChildren();
      controls.faults([]);
      controls.show(answer.controls);
      panel.scene(answer.scene, units());
      tellDraft();
      if (time === undefined) askStill({ variant: asked, acceleration: [acceleration[0] ?? 0, acceleration[1] ?? 0, 0], engine_speed: engine ?? 0 });
      sections.stale(asked);
      askLap(asked);
      askRound(asked);
    },
    faulty,
  );
  const askStill = newest(
    (asked: StillAsk) => ask<StillAnswer>("/api/still", asked),
    (answer, asked) => {
      if (!pan || time !== undefined || asked.variant.design !== design) return;
      panel.show({
        oil: { surfaces: answer.surfaces.flatMap((s) => [...s.up, s.height]) },
        gravity: gravityOf(pan.scene, asked.acceleration),
        doors: pan.scene.doors.map(() => 0),
        cover: answer.cover,
        word: answer.word,
        spaces: answer.surfaces.map((s) => s.volume),
        when: `at rest under a steady pull, ${volume(answer.oil, units())} in the pan${answer.at_crank > 1e-6 ? `, ${volume(answer.at_crank, units())} of it in the way of the crank` : ""}`,
      });
    },
    faulty,
  );
  const askLap = newest(
    (asked: Variant) => ask<LapAnswer>("/api/lap", asked),
    (answer, asked) => {
      if (asked.design !== design) return;
      series = seriesOf(answer);
      const top = mostOf(series.engine, 0);
      motor.max = String(Math.ceil(top));
      if (engine === undefined) {
        engine = top;
        motor.value = String(top);
        tellMotor();
        if (time === undefined) askStill({ variant: asked, acceleration: [acceleration[0] ?? 0, acceleration[1] ?? 0, 0], engine_speed: engine });
      }
      tellVerdict(answer);
      old.hidden = true;
      strip.lap(series, units());
      course.lap(series);
      if (pan) compare.own({ pan, series });
      if (!tilted) goTo(time ?? answer.least_at);
    },
    faulty,
  );
  const askRound = newest(
    (asked: Variant) => ask<RoundAnswer>("/api/round", asked),
    (answer) => round.map(answer),
    faulty,
  );

  function tellVerdict(lap: LapAnswer): void {
    word.replaceChildren(badge(lap.word), make("span", { class: "quiet" }, ` A sketch: ${lap.blind.replaceAll("`", "")}.`));
    sentence.textContent = lap.sentence;
    const fact = (name: string, value: string, under: string): HTMLElement =>
      make("div", {}, make("dt", {}, name), make("dd", {}, make("span", { class: "big" }, value), make("span", { class: "under" }, under)));
    numbers.replaceChildren(
      fact("least over the mouth", length(lap.least_cover, units()), `at ${lap.least_at.toFixed(2)} s`),
      fact("mouth bare", `${lap.bare_time.toFixed(2)} s`, `of ${((series?.time.at(-1) ?? 0) - (series?.time[0] ?? 0)).toFixed(0)} s: ${lap.drive}`),
      fact("air drawn", volume(lap.air, units()), "over the whole drive"),
    );
  }

  function tellDraft(): void {
    const changes = changesOf(draft);
    keep.show({
      undo: canUndo(draft),
      redo: canRedo(draft),
      differences: pan?.differences ?? [],
      changes: changes.length,
      name: `${pan?.name ?? "pan"}, revised`,
      file: design.replace(/(-r\d+)?\.toml$/, `-r${project.designs.length + 1}.toml`).split("/").at(-1) ?? "",
    });
  }

  function step(next: Draft): void {
    draft = next;
    store(`sumpwright-draft:${project.folder}/${design}`, written(draft));
    old.hidden = false;
    tellDraft();
    askPan(variant());
  }

  async function keepAs(name: string, file: string): Promise<SaveAnswer> {
    const folder = design.includes("/") ? design.slice(0, design.lastIndexOf("/") + 1) : "";
    const answer = await ask<SaveAnswer>("/api/save", { variant: variant(), digest: digest ?? "", name, file: folder + file });
    project = await ask<Project>("/api/project");
    chooseFrom();
    step(cleared(draft));
    take(answer.file);
    return answer;
  }

  function goTo(at: number): void {
    if (!series || !pan) return;
    time = at;
    tilted = false;
    const here = row(series.acceleration, 3, rowAt(series.time, at));
    acceleration = here;
    const stand = standAt(series, pan.scene, at, gravityOf(pan.scene, here));
    if (stand) panel.show(stand);
    strip.at(at);
    course.at(at);
    round.at(here);
    pointBeside();
  }

  function pointBeside(): void {
    const at = time ?? series?.answer.least_at;
    if (at === undefined) return;
    compare.at(at, (scene, other) => gravityOf(scene, row(other.acceleration, 3, rowAt(other.time, at))));
  }

  // Which design.
  const chooser = make("select", { id: "design" });
  function chooseFrom(): void {
    chooser.replaceChildren(...project.designs.map((d) => make("option", { value: d.file }, `${d.name} (${d.file})`)));
    if (!project.designs.some((d) => d.file === design)) chooser.append(make("option", { value: design }, design));
    chooser.value = design;
    compare.project(project);
  }
  function take(file: string): void {
    design = file;
    chooser.value = file;
    engine = undefined;
    time = undefined;
    tilted = false;
    series = undefined;
    player.stop();
    draft = read(stored(`sumpwright-draft:${project.folder}/${file}`));
    if (changesOf(draft).length > 0) say("Changes that were not saved the last time are here again.");
    tellDraft();
    askPan(variant());
  }
  chooser.addEventListener("change", () => take(chooser.value));

  const seen = (event: Event): void => {
    if (event.kind === "run") runs.seen(event.run);
    else if (event.kind === "forgotten") runs.forgotten(event.id);
    else if (event.kind === "changed" && event.design === design && event.digest !== digest) {
      if (event.digest === null) say(`${design} is gone from the folder. What you changed is kept here; put the file back, or save under another name from one that is there.`, true);
      else {
        say(`${design} was changed on disk and is shown as it is now; your changes stand on top of it.`);
        askPan(variant());
      }
    }
  };
  listen(seen, (why) => {
    linked.hidden = why === null;
    linked.textContent = why;
    if (why === null) {
      ask<Run[]>("/api/runs").then(runs.all, fail);
      if (!pan) askPan(variant());
    }
  });
  addEventListener("beforeprint", () => document.querySelectorAll<HTMLDetailsElement>("#drive details").forEach((part) => (part.open = true)));
  document.addEventListener("keydown", (event) => {
    const typing = event.target instanceof HTMLInputElement && event.target.type !== "range" && event.target.type !== "checkbox";
    if (typing || !(event.ctrlKey || event.metaKey)) return;
    if (event.key === "z" && !event.shiftKey) step(undone(draft));
    else if (event.key === "y" || (event.key === "z" && event.shiftKey) || event.key === "Z") step(redone(draft));
    else return;
    event.preventDefault();
  });

  const share = (words: string, press: () => void): HTMLButtonElement => {
    const made = make("button", { type: "button" }, words);
    made.addEventListener("click", press);
    return made;
  };
  const part = (id: string, title: string, ...contents: Node[]): HTMLElement => make("section", { id, "aria-labelledby": `${id}-title` }, make("h2", { id: `${id}-title` }, title), ...contents);
  place.replaceChildren(
    make("header", {}, make("p", {}, make("strong", {}, "Sumpwright"), ` in ${project.folder} `, make("label", { for: "design" }, "design "), chooser)),
    linked,
    note,
    word,
    old,
    sentence,
    numbers,
    wrong,
    make(
      "section",
      { id: "bench", "aria-label": "the pan" },
      panel.element,
      make("div", { class: "hand-side" }, round.element, make("div", { class: "stage-row" }, make("label", {}, "engine ", motor), motorSaid)),
    ),
    part("drive", "On the drive", player.element, strip.element, course.element),
    part("change", "Change it and see", controls.element, keep.element),
    part("beside", "Side by side", compare.element),
    part("proof", "Put it to the proof", runs.element),
    part("rest", "Suction, joint, cards, clearance", sections.element),
    part(
      "share",
      "Hand it on",
      make(
        "div",
        { class: "stage-row" },
        share("Picture of the pan (PNG)", () => void panel.picture().then((blob) => blob && save(blob, "pan.png"))),
        share("The drive (SVG)", () => save(fileOf(strip.drawing), "drive.svg")),
        share("The round map (SVG)", () => save(fileOf(round.drawing), "round.svg")),
        share("Print this page", () => print()),
      ),
      make("p", { class: "quiet" }, "The report is a file of a run above: a proof, or the report of the sketch. It opens anywhere, without this program."),
    ),
    make("footer", {}, ...project.cautions.map((caution) => make("p", {}, caution)), make("p", {}, `Sumpwright ${project.version}`)),
  );
  chooseFrom();
  tellMotor();
  if (design) take(design);
  else say("There is no design in this folder. `sumpwright new my-pan` writes one to begin with.", true);
}
