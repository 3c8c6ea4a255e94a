/** Another pan beside this one, at the same moment of the same drive. */
import { make } from "../panels/make";
import { length, type UnitOrder } from "../units";
import type { LapAnswer, PanAnswer, Project, Variant } from "../wire/types";
import { ask } from "./api";
import { badge, createPanel, type Panel, type Stand } from "./panel";
import { row, rowAt, seriesOf, wordAt, type Series } from "./series";
import type { SceneWire } from "../wire/types";

/** How the oil of a lap stands at a time; none when the lap is of a pan with other spaces or doors. */
export function standAt(series: Series, scene: SceneWire, time: number, gravity: readonly number[]): Stand | null {
  const at = rowAt(series.time, time);
  const spaces = scene.spaces.length;
  const rows = series.time.length;
  if (series.spaces.length !== rows * spaces || series.doors.length !== rows * scene.doors.length) return null;
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

/** A pan with its drive. */
export interface Driven {
  readonly pan: PanAnswer;
  readonly series: Series;
}

export interface Compare {
  readonly element: HTMLElement;
  project(project: Project): void;
  /** The pan of this page, as it is changed. */
  own(driven: Driven): void;
  at(time: number, gravity: (scene: SceneWire, series: Series) => readonly number[]): void;
}

export function createCompare(design: () => string, units: () => UnitOrder, moved: () => void, fail: (fault: unknown) => void): Compare {
  const chooser = make("select", { id: "beside" });
  const place = make("div", { class: "pair" });
  const element = make("div", {}, make("p", {}, make("label", { for: "beside" }, "Beside it stand "), chooser), place);
  let own: Driven | undefined;
  let pair: { driven: () => Driven | undefined; panel: Panel }[] = [];
  const told = make("div");
  const clear = (): void => {
    for (const { panel } of pair) panel.dispose();
    pair = [];
    place.replaceChildren();
  };
  const said = ({ pan, series }: Driven): Node[] => [
    make("h3", {}, pan.name, pan.differences.length > 0 ? ", as changed here" : ""),
    make("p", {}, badge(series.answer.word), ` ${series.answer.sentence} Least over the mouth ${length(series.answer.least_cover, units())}.`),
  ];
  const load = async (): Promise<void> => {
    clear();
    if (!chooser.value) return;
    const variant: Variant = { design: chooser.value === "saved" ? design() : chooser.value.slice(1), changes: [] };
    place.append(make("p", { class: "quiet" }, "It is being looked at."));
    try {
      const pan = await ask<PanAnswer>("/api/pan", variant);
      const lap = await ask<LapAnswer>("/api/lap", variant);
      const other: Driven = { pan, series: seriesOf(lap) };
      clear();
      const stand = (driven: () => Driven | undefined, name: string, words: HTMLElement): void => {
        const panel = createPanel(name);
        pair.push({ driven, panel });
        place.append(make("div", {}, words, panel.element));
      };
      stand(() => own, "the pan as it is changed", told);
      stand(() => other, pan.name, make("div", {}, ...said(other)));
      if (own) tell(own);
      moved();
    } catch (fault) {
      clear();
      fail(fault);
    }
  };
  const tell = (driven: Driven): void => {
    told.replaceChildren(...said(driven));
    for (const one of pair) {
      const shown = one.driven();
      if (shown) one.panel.scene(shown.pan.scene, units());
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
    own(driven) {
      own = driven;
      tell(driven);
    },
    at(time, gravity) {
      for (const { driven, panel } of pair) {
        const shown = driven();
        const stand = shown && standAt(shown.series, shown.pan.scene, time, gravity(shown.pan.scene, shown.series));
        if (stand) panel.show(stand);
      }
    },
  };
}
