/** At which steady g the mouth runs dry, by the way the oil is pushed; it is also where the pan is tilted by hand. */
import { make } from "../panels/make";
import type { RoundAnswer } from "../wire/types";
import { numbersOf } from "./fill";
import { svg } from "./svg";

export interface Round {
  readonly element: HTMLElement;
  readonly drawing: SVGSVGElement;
  map(answer: RoundAnswer): void;
  /** Acceleration of the car in g: forward, left. */
  at(acceleration: readonly number[]): void;
}

const SIZE = 400;
const MIDDLE = SIZE / 2;
const RADIUS = 136;

/** Where a push of oil lies on the map: forward is up, the car's left is left. Push is against the acceleration. */
export function placeOf(acceleration: readonly number[], most: number): [number, number] {
  const scale = RADIUS / most;
  return [MIDDLE + scale * (acceleration[1] ?? 0), MIDDLE + scale * (acceleration[0] ?? 0)];
}

/** The acceleration at a place of the map, at most `most` g. */
export function accelerationAt(x: number, y: number, most: number): [number, number] {
  const [left, forward] = [((x - MIDDLE) / RADIUS) * most, ((y - MIDDLE) / RADIUS) * most];
  const long = Math.hypot(left, forward);
  const share = long > most ? most / long : 1;
  return [forward * share, left * share];
}

export function createRound(tilted: (acceleration: [number, number, number]) => void): Round {
  let most = 1.6;
  let now: [number, number] = [0, 0];
  const drawing = svg("svg", { class: "round", viewBox: `-14 0 ${SIZE + 28} ${SIZE}`, tabindex: 0, role: "application", "aria-label": "tilt the pull: arrow keys, 0 stands the car still" });
  const still = svg("g");
  const here = svg("circle", { class: "here", r: 8 });
  const words = make("p", { class: "quiet", "aria-live": "polite" });
  const side = (name: string, label: string): HTMLInputElement => {
    const input = make("input", { type: "range", min: "-1.6", max: "1.6", step: "0.02", value: "0", "aria-label": label });
    input.addEventListener("input", () => tilt([Number(forward.value), Number(left.value)]));
    input.name = name;
    return input;
  };
  const forward: HTMLInputElement = side("forward", "g forward");
  const left: HTMLInputElement = side("left", "g to the left");
  const level = make("button", { type: "button" }, "Stand it still");
  level.addEventListener("click", () => tilt([0, 0]));
  const element = make(
    "figure",
    {},
    drawing,
    words,
    make("div", { class: "stage-row" }, make("label", {}, "g forward ", forward), make("label", {}, "g to the left ", left), level),
    make(
      "figcaption",
      {},
      "Which way the oil is pushed, and how hard. Inside the line the mouth stays covered: solid in a long corner, dashed in the first instant. Dots are the drive. Drag in it, or use arrow keys, to tilt the pull by hand.",
    ),
  );
  drawing.append(still, here);

  const show = (): void => {
    const [x, y] = placeOf(now, most);
    here.setAttribute("cx", x.toFixed(1));
    here.setAttribute("cy", y.toFixed(1));
    forward.value = String(now[0]);
    left.value = String(now[1]);
    const push = Math.hypot(...now);
    words.textContent =
      push < 0.005
        ? "Standing still."
        : `${Math.abs(now[0]).toFixed(2)} g ${now[0] < 0 ? "braking" : "forward"}, ${Math.abs(now[1]).toFixed(2)} g to the ${now[1] < 0 ? "right" : "left"}.`;
  };
  const tilt = (next: [number, number]): void => {
    now = next;
    show();
    tilted([...next, 0]);
  };
  const drag = (event: PointerEvent): void => {
    if (!drawing.hasPointerCapture(event.pointerId)) return;
    const box = drawing.getBoundingClientRect();
    const scale = (SIZE + 28) / box.width;
    tilt(accelerationAt((event.clientX - box.left) * scale - 14, (event.clientY - box.top) * scale, most));
  };
  drawing.addEventListener("pointerdown", (event) => {
    drawing.setPointerCapture(event.pointerId);
    drag(event);
  });
  drawing.addEventListener("pointermove", drag);
  drawing.addEventListener("keydown", (event) => {
    const steps: Readonly<Record<string, [number, number]>> = { ArrowUp: [-0.05, 0], ArrowDown: [0.05, 0], ArrowLeft: [0, -0.05], ArrowRight: [0, 0.05] };
    const step = steps[event.key];
    if (step) {
      const limit = (v: number): number => Math.min(most, Math.max(-most, v));
      tilt([limit(now[0] + step[0]), limit(now[1] + step[1])]);
    } else if (event.key === "0") tilt([0, 0]);
    else return;
    event.preventDefault();
  });
  show();
  return {
    element,
    drawing,
    map(answer) {
      most = answer.most_g;
      for (const input of [forward, left]) [input.min, input.max] = [String(-most), String(most)];
      const parts: Node[] = [];
      for (let g = 0.5; g <= most + 1e-9; g += 0.5) {
        parts.push(svg("circle", { class: "ring", cx: MIDDLE, cy: MIDDLE, r: (g / most) * RADIUS }));
        parts.push(svg("text", { class: "small", x: MIDDLE + 3, y: MIDDLE - (g / most) * RADIUS - 2 }, `${g} g`));
      }
      const points = numbersOf(answer.points);
      const step = 2 * Math.max(1, Math.floor(points.length / 2 / 1500));
      let dots = "";
      for (let i = 0; i + 1 < points.length; i += step) {
        const [x, y] = placeOf([points[i] ?? 0, points[i + 1] ?? 0], most);
        dots += `M${x.toFixed(1)} ${y.toFixed(1)}h0`;
      }
      parts.push(svg("path", { class: "dots", d: dots }));
      const dry = (limits: readonly (number | null)[], look: string): void => {
        if (limits.length === 0) return;
        const path = answer.directions.map((direction, i) => {
          // A push to the front at angle 0, counted to the left; its acceleration points the other way.
          const g = limits[i] ?? most;
          const [x, y] = placeOf([-g * Math.cos(direction), -g * Math.sin(direction)], most);
          return `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`;
        });
        parts.push(svg("path", { class: look, d: `${path.join("")}Z` }));
      };
      dry(answer.first_dry_instant, "dry dashed");
      dry(answer.first_dry_long, "dry");
      const ways: [string, number, number, string][] = [
        ["to the front (braking)", MIDDLE, 40, "middle"],
        ["to the rear", MIDDLE, SIZE - 34, "middle"],
        ["to the left", 2, MIDDLE + 4, "start"],
        ["to the right", SIZE - 2, MIDDLE + 4, "end"],
      ];
      for (const [text, x, y, anchor] of ways) parts.push(svg("text", { class: "lane", x, y, "text-anchor": anchor }, text));
      still.replaceChildren(...parts);
      show();
    },
    at(acceleration) {
      now = [acceleration[0] ?? 0, acceleration[1] ?? 0];
      show();
    },
  };
}
