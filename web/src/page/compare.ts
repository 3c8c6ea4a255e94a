/** Another pan beside this one, at the same moment of the same drive. */
import { make } from "../panels/make";
import { length, type UnitOrder } from "../units";
import type { LapAnswer, PanAnswer, Project, Variant } from "../wire/types";
import { ask } from "./api";
import { badge, createPanel, type Panel, type Stand } from "./panel";
import { row, rowAt, seriesOf, wordAt, type Series } from "./series";
import type { SceneWire } from "../wire/types";

/** How the oil of a lap stands at a time. */
export function standAt(series: Series, scene: SceneWire, time: number, gravity: readonly number[]): Stand {
  const at = rowAt(series.time, time);
  const spaces = scene.spaces.length;
  return {
    oil: { surfaces: row(series.surfaces, 4 * spaces, at) },
    gravity,
    doors: row(series.doors, scene.doors.length, at),
    cover: scene.mouth ? (series.cover[at] ?? 0) : null,
    word: wordAt(series, at),
    spaces: row(series.spaces, spaces, at),
    when: `on the drive at ${time.toFixed(2)} s`,
  };
}

export interface Compare {
  readonly element: HTMLElement;
  project(project: Project): void;
  at(time: number, gravity: (scene: SceneWire, series: Series) => readonly number[]): void;
}

export function createCompare(design: () => string, units: () => UnitOrder, moved: () => void, fail: (fault: unknown) => void): Compare {
  const chooser = make("select", { id: "beside" });
  const place = make("div");
  const element = make("div", {}, make("p", {}, make("label", { for: "beside" }, "Beside it stand "), chooser), place);
  let panel: Panel | undefined;
  let scene: SceneWire | undefined;
  let series: Series | undefined;
  const load = async (): Promise<void> => {
    panel?.dispose();
    panel = undefined;
    series = undefined;
    place.replaceChildren();
    if (!chooser.value) return;
    const variant: Variant = { design: chooser.value === "saved" ? design() : chooser.value.slice(1), changes: [] };
    place.append(make("p", { class: "quiet" }, "It is being looked at."));
    try {
      const pan = await ask<PanAnswer>("/api/pan", variant);
      const lap = await ask<LapAnswer>("/api/lap", variant);
      scene = pan.scene;
      series = seriesOf(lap);
      panel = createPanel(pan.name);
      panel.scene(pan.scene, units());
      place.replaceChildren(
        make("h3", {}, pan.name),
        make("p", {}, badge(lap.word), ` ${lap.sentence} Least over the mouth ${length(lap.least_cover, units())}.`),
        panel.element,
      );
      moved();
    } catch (fault) {
      place.replaceChildren();
      fail(fault);
    }
  };
  chooser.addEventListener("change", () => void load());
  return {
    element,
    project(project) {
      const chosen = chooser.value;
      chooser.replaceChildren(
        make("option", { value: "" }, "nothing"),
        make("option", { value: "saved" }, "this design as it is saved"),
        ...project.designs.map((d) => make("option", { value: `/${d.file}` }, `${d.name} (${d.file})`)),
      );
      chooser.value = chosen;
    },
    at(time, gravity) {
      if (panel && scene && series) panel.show(standAt(series, scene, time, gravity(scene, series)));
    },
  };
}
