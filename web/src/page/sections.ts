/** Suction, joint, cards, clearance: the report's own sections, and a tick for each bolt that stays. */
import { make } from "../panels/make";
import type { Part, SectionAnswer, Variant } from "../wire/types";
import { ask } from "./api";
import { store as keepText, stored } from "./store";

export interface Sections {
  readonly element: HTMLElement;
  /** What is shown is of another pan now. */
  stale(variant: Variant): void;
}

const PARTS: readonly (readonly [Part, string, string])[] = [
  ["feed", "Is the pump fed?", "inlet pressure, losses, air at the joint"],
  ["seal", "Will the joint seal?", "pressure along the flange, torque and order"],
  ["cards", "Cards for the bench", "torque, dipstick, doors, leak test, first laps"],
  ["clearance", "Does it clear the car?", "gaps, room to grow, the way out"],
];

export function createSections(variant: () => Variant, fail: (fault: unknown) => void): Sections {
  const loads: (() => void)[] = [];
  const places = PARTS.map(([part, title, what]) => {
    const body = make("div", { class: "section" });
    const element = make("details", { class: "part", id: `part-${part}` }, make("summary", {}, make("b", {}, title), ` ${what}`), body);
    let shown = "";
    const load = async (): Promise<void> => {
      const asked = variant();
      const text = JSON.stringify(asked);
      if (!element.open || text === shown) return;
      shown = text;
      body.setAttribute("aria-busy", "true");
      try {
        const answer = await ask<SectionAnswer>("/api/section", { variant: asked, part });
        if (shown === text) body.replaceChildren(...contents(answer, asked.design, part));
      } catch (fault) {
        shown = "";
        fail(fault);
      }
      body.removeAttribute("aria-busy");
    };
    element.addEventListener("toggle", () => void load());
    loads.push(() => void load());
    return element;
  });
  return { element: make("div", {}, ...places), stale: () => loads.forEach((load) => load()) };
}

function contents(answer: SectionAnswer, design: string, part: Part): Node[] {
  if (answer.nothing !== null) return [make("p", { class: "quiet" }, answer.nothing)];
  // The server's own report made this text and set everything a user typed as text; scripts in it would not run.
  const parsed = new DOMParser().parseFromString(answer.html, "text/html");
  const parts: Node[] = [...parsed.body.childNodes].map((node) => document.adoptNode(node));
  if (answer.bolts.length > 0) parts.unshift(boltsOf(answer.bolts, `sumpwright-bolts:${design}:${part}`));
  return parts;
}

/** A tick for each bolt in the order of tightening. */
function boltsOf(bolts: readonly string[], store: string): HTMLElement {
  const done = new Set((stored(store) ?? "").split("\n").filter((name) => bolts.includes(name)));
  const told = make("p", { class: "quiet", "aria-live": "polite" });
  const keep = (): void => {
    keepText(store, [...done].join("\n"));
    told.textContent = `${done.size} of ${bolts.length} bolts done in this pass.`;
  };
  const boxes = bolts.map((name) => {
    const box = make("input", { type: "checkbox" });
    box.checked = done.has(name);
    box.addEventListener("change", () => {
      if (box.checked) done.add(name);
      else done.delete(name);
      keep();
    });
    return { box, element: make("li", {}, make("label", { class: "bolt" }, box, ` ${name}`)) };
  });
  const next = make("button", { type: "button" }, "Next pass: clear the ticks");
  next.addEventListener("click", () => {
    done.clear();
    for (const { box } of boxes) box.checked = false;
    keep();
  });
  keep();
  return make("div", { class: "bolts" }, make("h3", {}, "Tick each bolt as it is done"), make("ol", {}, ...boxes.map((b) => b.element)), told, next);
}
