/** What can be changed in the design: number, slider, what it means, what is wrong with it. */
import { make } from "../panels/make";
import type { Control, Fault, Group } from "../wire/types";

export interface Controls {
  readonly element: HTMLElement;
  show(controls: readonly Control[]): void;
  /** Faults stand at the control they belong to; those of no control are given back. */
  faults(faults: readonly Fault[]): readonly Fault[];
}

const WORDS: Readonly<Record<Group, string>> = {
  oil: "Oil",
  plates: "Plates",
  doors: "Doors",
  pickup: "Pickup",
  drive: "Drive",
  limits: "What the mouth must keep",
};

/** A number and its unit as the design file writes them. */
export function valueOf(number: number, unit: string): string {
  const digits = String(Number(number.toPrecision(6)));
  return unit ? JSON.stringify(`${digits} ${unit}`) : digits;
}

interface Line {
  readonly element: HTMLElement;
  show(control: Control): void;
  fault(fault: Fault | undefined): void;
}

/** `set` is told the key, its value as TOML, and whether a slider is on the move. */
export function createControls(set: (control: Control, value: string, moving: boolean) => void): Controls {
  const lines = new Map<string, Line>();
  const element = make("div", { class: "controls" });
  let drawn = "";
  return {
    element,
    show(controls) {
      const keys = controls.map((control) => `${control.group} ${control.key}`).join("\n");
      if (keys !== drawn) {
        drawn = keys;
        lines.clear();
        for (const control of controls) lines.set(control.key, createLine(control, set));
        const groups = [...new Set(controls.map((control) => control.group))];
        element.replaceChildren(
          ...groups.map((group) =>
            make(
              "fieldset",
              {},
              make("legend", {}, WORDS[group]),
              ...controls.filter((c) => c.group === group).flatMap((c) => lines.get(c.key)?.element ?? []),
            ),
          ),
        );
      }
      for (const control of controls) lines.get(control.key)?.show(control);
    },
    faults(faults) {
      const here = (key: string): Fault | undefined => faults.find((fault) => fault.key === key);
      for (const [key, line] of lines) line.fault(here(key));
      return faults.filter((fault) => fault.key === null || !lines.has(fault.key));
    },
  };
}

let count = 0;

function createLine(first: Control, set: (control: Control, value: string, moving: boolean) => void): Line {
  let control = first;
  let moved = false;
  const id = `control-${count++}`;
  const number = make("input", { type: "number", step: "any", id, "aria-describedby": `${id}-help ${id}-fault` });
  const slider = make("input", { type: "range", "aria-label": `${first.label}, slider` });
  const unit = make("span", { class: "quiet" });
  const was = make("button", { type: "button", class: "was", hidden: "" });
  const help = make("details", { class: "help", id: `${id}-help` }, make("summary", { "aria-label": `what ${first.label} is` }, "?"), make("p", {}, first.help));
  const fault = make("p", { class: "warning", id: `${id}-fault`, role: "alert", hidden: "" });
  const element = make(
    "div",
    { class: "control" },
    make("label", { for: id }, first.label),
    make("span", { class: "entry" }, number, unit, was),
    slider,
    help,
    fault,
  );
  const put = (value: number, moving: boolean): void => {
    if (Number.isFinite(value)) set(control, valueOf(value, control.unit), moving);
  };
  number.addEventListener("change", () => put(number.valueAsNumber, false));
  slider.addEventListener("input", () => {
    number.value = slider.value;
    put(slider.valueAsNumber, moved);
    moved = true;
  });
  slider.addEventListener("change", () => (moved = false));
  was.addEventListener("click", () => control.saved !== null && set(control, control.saved, false));
  return {
    element,
    show(next) {
      control = next;
      const shown = String(Number(next.number.toPrecision(6)));
      if (document.activeElement !== number) number.value = shown;
      [slider.min, slider.max, slider.step] = [String(next.low), String(next.high), String(next.step)];
      if (document.activeElement !== slider) slider.value = shown;
      unit.textContent = next.unit;
      was.hidden = next.saved === null || next.saved === next.value;
      was.textContent = `was ${(next.saved ?? "").replaceAll('"', "")}`;
      was.title = "Take this change back";
    },
    fault(found) {
      fault.hidden = !found;
      number.setAttribute("aria-invalid", String(found !== undefined));
      fault.textContent = found ? `${found.what}. ${found.mend}` : "";
    },
  };
}
