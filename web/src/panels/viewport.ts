/** The canvas with its words, turned by mouse, touch and keys. */
import type { Tag } from "../scene/stage";
import { make } from "./make";

export type Turn = (change: { around?: number; above?: number; zoom?: number }) => void;

export interface Viewport {
  readonly element: HTMLElement;
  /** How to turn it; stands below the picture. */
  readonly help: HTMLElement;
  readonly canvas: HTMLCanvasElement;
  tags(list: readonly Tag[]): void;
  /** What the picture shows, for someone who cannot see it. */
  say(words: string): void;
}

const KEYS: Readonly<Record<string, { around?: number; above?: number; zoom?: number }>> = {
  ArrowLeft: { around: -0.12 },
  ArrowRight: { around: 0.12 },
  ArrowUp: { above: 0.1 },
  ArrowDown: { above: -0.1 },
  "+": { zoom: 0.87 },
  "=": { zoom: 0.87 },
  "-": { zoom: 1.15 },
};

export function createViewport(turn: Turn, reset: () => void): Viewport {
  const canvas = make("canvas", { "aria-hidden": "true" });
  const words = make("div", { "aria-hidden": "true" });
  const help = make(
    "p",
    { class: "stage-help", id: "stage-help" },
    "Drag to turn, pinch or hold ctrl and roll to zoom. Keys: arrows, + and −, 0 for the first view.",
  );
  const element = make(
    "div",
    { class: "stage-view", tabindex: "0", role: "img", "aria-describedby": "stage-help" },
    canvas,
    words,
  );
  const fingers = new Map<number, { x: number; y: number }>();
  element.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    element.setPointerCapture(event.pointerId);
  });
  for (const end of ["pointerup", "pointercancel"] as const) {
    element.addEventListener(end, (event) => fingers.delete(event.pointerId));
  }
  element.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    const spread = (): number => {
      const [a, b] = [...fingers.values()];
      return a && b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
    };
    const wide = spread();
    fingers.set(event.pointerId, now);
    if (fingers.size === 2 && wide > 0) {
      turn({ zoom: wide / Math.max(1, spread()), above: (now.y - before.y) * 0.003 });
    } else {
      turn({ around: -(now.x - before.x) * 0.008, above: (now.y - before.y) * 0.006 });
    }
  });
  element.addEventListener(
    "wheel",
    (event) => {
      // A plain wheel scrolls the page; it must not get caught here.
      if (!event.ctrlKey) return;
      event.preventDefault();
      turn({ zoom: Math.exp(event.deltaY * 0.0015) });
    },
    { passive: false },
  );
  element.addEventListener("keydown", (event) => {
    const change = KEYS[event.key];
    if (change) turn(change);
    else if (event.key === "0") reset();
    else return;
    event.preventDefault();
  });
  return {
    element,
    help,
    canvas,
    tags(list) {
      const shown = list.filter((tag) => tag.seen);
      const spans = shown.map((tag) => make("span", { class: "stage-word" }, tag.words));
      words.replaceChildren(...spans);
      shown.forEach((tag, i) => {
        const span = spans[i];
        if (!span) return;
        // Kept on the picture, so that no word is cut.
        const x = Math.max(0, Math.min(tag.x, element.clientWidth - span.offsetWidth));
        const y = Math.max(0, Math.min(tag.y, element.clientHeight - span.offsetHeight));
        span.style.transform = `translate(${x.toFixed(0)}px, ${y.toFixed(0)}px)`;
      });
    },
    say(text) {
      element.setAttribute("aria-label", text);
    },
  };
}
