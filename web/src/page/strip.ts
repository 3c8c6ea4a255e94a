/** The drive as a strip: cover, g, speed, engine speed over one axis, with a hand that is drawn along it. */
import { make } from "../panels/make";
import { clock, length, rpm, speed as speedText, type UnitOrder } from "../units";
import { badge } from "./panel";
import { mostOf, peaks, row, rowAt, stretches, tickStep, wordAt, type Series } from "./series";
import { svg } from "./svg";

export interface Strip {
  readonly element: HTMLElement;
  readonly drawing: SVGSVGElement;
  lap(series: Series, units: UnitOrder): void;
  /** Puts the hand at a time without telling. */
  at(time: number): void;
}

const LEFT = 14;
const RIGHT = 14;
const LANES = [
  { key: "cover", tall: 110 },
  { key: "g", tall: 90 },
  { key: "speed", tall: 64 },
  { key: "engine", tall: 54 },
] as const;
const GAP = 26;

export function createStrip(chosen: (time: number) => void): Strip {
  let series: Series | undefined;
  let units: UnitOrder = "metric";
  let by: "time" | "distance" = "time";
  let now = 0;
  const drawing = svg("svg", { class: "strip", role: "img", "aria-label": "the drive" });
  const hand = svg("line", { class: "hand" });
  const slider = make("input", { type: "range", step: "0.02", "aria-label": "time in the drive" });
  const read = make("p", { class: "stage-read" });
  const over = make("select", { "aria-label": "along" }, make("option", { value: "time" }, "by time"), make("option", { value: "distance" }, "by distance"));
  const marks = make("ol", { class: "marks" });
  const table = make("details", { class: "more" }, make("summary", {}, "The worst moments as a table"));
  const element = make("div", {}, read, drawing, make("div", { class: "stage-row" }, slider, over), marks, table);

  const axis = (): Float32Array => (by === "distance" && series ? series.distance : (series?.time ?? new Float32Array()));
  const wide = (): number => Math.max(320, drawing.clientWidth || 900);
  const placeOf = (value: number): number => {
    const x = axis();
    const [from, to] = [x[0] ?? 0, x.at(-1) ?? 1];
    return LEFT + ((value - from) / Math.max(1e-9, to - from)) * (wide() - LEFT - RIGHT);
  };

  const draw = (): void => {
    if (!series) return;
    const width = wide();
    const x = axis();
    const tall = LANES.reduce((sum, lane) => sum + lane.tall + GAP, 0) + 38;
    drawing.setAttribute("viewBox", `0 0 ${width} ${tall}`);
    drawing.setAttribute("height", String(tall));
    const parts: Node[] = [hatch()];
    let y = 0;
    for (const lane of LANES) {
      // Marks stand over the first lane, its label over them.
      y += lane.key === "cover" ? GAP + 16 : GAP;
      parts.push(...drawLane(lane.key, series, x, y, lane.tall, width));
      y += lane.tall;
    }
    const step = tickStep((x.at(-1) ?? 1) - (x[0] ?? 0), width / 110);
    for (let t = Math.ceil((x[0] ?? 0) / step) * step; t <= (x.at(-1) ?? 0); t += step) {
      const p = placeOf(t);
      parts.push(svg("line", { class: "tick", x1: p, x2: p, y1: y, y2: y + 5 }));
      const words = by === "time" ? `${+t.toFixed(1)} s` : `${+t.toFixed(0)} m`;
      parts.push(svg("text", { class: "small", x: p, y: y + 18, "text-anchor": "middle" }, words));
    }
    hand.setAttribute("y1", "0");
    hand.setAttribute("y2", String(y));
    parts.push(hand);
    drawing.replaceChildren(...parts);
    point();
  };

  const drawLane = (key: (typeof LANES)[number]["key"], s: Series, x: Float32Array, top: number, tall: number, width: number): Node[] => {
    const line = (values: ArrayLike<number>, low: number, high: number, look: string): SVGElement => {
      const path = peaks(x, values, width).map(([a, b], i) => {
        const p = top + tall - ((b - low) / Math.max(1e-9, high - low)) * tall;
        return `${i ? "L" : "M"}${placeOf(a).toFixed(1)} ${Math.min(top + tall, Math.max(top, p)).toFixed(1)}`;
      });
      return svg("path", { class: look, d: path.join("") });
    };
    const label = (words: string): SVGElement => svg("text", { class: "lane", x: LEFT, y: key === "cover" ? top - 26 : top - 7 }, words);
    const base = svg("line", { class: "base", x1: LEFT, x2: width - RIGHT, y1: top + tall, y2: top + tall });
    if (key === "cover") {
      const most = mostOf(s.cover, s.answer.limit * 2);
      const area = line(s.cover, 0, most, "cover-area");
      const [from, to] = [placeOf(x[0] ?? 0), placeOf(x.at(-1) ?? 0)];
      area.setAttribute("d", `${area.getAttribute("d") ?? ""}L${to} ${top + tall}L${from} ${top + tall}Z`);
      const limit = top + tall - (s.answer.limit / most) * tall;
      const bares = stretches(s)
        .filter((stretch) => stretch.word === "bare")
        .map((stretch) => {
          const a = placeOf(x[stretch.from] ?? 0);
          const b = Math.max(a + 2, placeOf(x[stretch.to - 1] ?? 0));
          return svg("rect", { class: "bare-area", x: a, y: top, width: b - a, height: tall });
        });
      const numbers = s.answer.moments.map((moment, i) => {
        const p = placeOf(x[rowAt(s.time, moment.worst)] ?? 0);
        return svg("g", { class: "mark" }, svg("path", { d: `M${p} ${top + 2}l-5 -9h10z` }), svg("text", { x: p, y: top - 9, "text-anchor": "middle", class: "small" }, String(i + 1)));
      });
      return [
        label(`oil over the mouth, up to ${length(most, units)}`),
        area,
        ...bares,
        svg("line", { class: "limit", x1: LEFT, x2: width - RIGHT, y1: limit, y2: limit }),
        svg("text", { class: "small", x: width - RIGHT, y: limit - 3, "text-anchor": "end" }, `thin below ${length(s.answer.limit, units)}`),
        base,
        ...numbers,
      ];
    }
    if (key === "g") {
      const part = (i: number): Float32Array => s.acceleration.filter((_, n) => n % 3 === i);
      const [forward, left] = [part(0), part(1)];
      const most = mostOf(s.acceleration.filter((_, n) => n % 3 !== 2).map(Math.abs), 0.2);
      const middle = top + tall / 2;
      return [
        label(`acceleration in g, ±${most.toFixed(1)}: forward solid, to the left dashed`),
        svg("line", { class: "tick", x1: LEFT, x2: width - RIGHT, y1: middle, y2: middle }),
        line(left, -most, most, "trace dashed"),
        line(forward, -most, most, "trace"),
      ];
    }
    const values = key === "speed" ? s.speed : s.engine;
    const name = key === "speed" ? "speed" : "engine speed";
    if (values.length === 0) return [label(`${name}: not known`), base];
    const most = mostOf(values, 1e-6);
    const words = key === "speed" ? speedText(most, units) : rpm(most);
    return [label(`${name}, up to ${words}`), line(values, 0, most, "trace"), base];
  };

  const point = (): void => {
    if (!series) return;
    const at = rowAt(series.time, now);
    const p = placeOf(axis()[at] ?? 0);
    hand.setAttribute("x1", String(p));
    hand.setAttribute("x2", String(p));
    slider.value = String(now);
    const word = wordAt(series, at);
    const [forward, left] = row(series.acceleration, 3, at);
    const cover = length(series.cover[at] ?? 0, units);
    slider.setAttribute("aria-valuetext", `${clock(now)}, ${cover} over the mouth, ${word}`);
    const ways = `${Math.abs(forward ?? 0).toFixed(2)} g ${(forward ?? 0) < 0 ? "braking" : "forward"}, ${Math.abs(left ?? 0).toFixed(2)} g to the ${(left ?? 0) < 0 ? "right" : "left"}`;
    read.replaceChildren(
      make("span", {}, "time ", make("b", {}, clock(now))),
      make("span", {}, "over the mouth ", make("b", {}, cover), " ", badge(word)),
      make("span", {}, ways),
      make("span", {}, `${series.speed.length ? speedText(series.speed[at] ?? 0, units) : ""} ${rpm(series.engine[at] ?? 0)}`),
    );
  };

  const choose = (time: number): void => {
    now = time;
    point();
    chosen(time);
  };
  slider.addEventListener("input", () => choose(Number(slider.value)));
  over.addEventListener("change", () => {
    by = over.value === "distance" ? "distance" : "time";
    draw();
  });
  const drag = (event: PointerEvent): void => {
    if (!series || !drawing.hasPointerCapture(event.pointerId)) return;
    const box = drawing.getBoundingClientRect();
    const share = ((event.clientX - box.left) * (wide() / box.width) - LEFT) / (wide() - LEFT - RIGHT);
    const x = axis();
    const value = (x[0] ?? 0) + Math.min(1, Math.max(0, share)) * ((x.at(-1) ?? 0) - (x[0] ?? 0));
    choose(series.time[rowAt(x, value)] ?? 0);
  };
  drawing.addEventListener("pointerdown", (event) => {
    drawing.setPointerCapture(event.pointerId);
    drag(event);
  });
  drawing.addEventListener("pointermove", drag);
  new ResizeObserver(draw).observe(drawing);

  return {
    element,
    drawing,
    lap(next, order) {
      series = next;
      units = order;
      if (next.distance.length === 0) by = "time";
      over.disabled = next.distance.length === 0;
      over.value = by;
      slider.min = String(next.time[0] ?? 0);
      slider.max = String(next.time.at(-1) ?? 0);
      now = Math.min(Math.max(now, next.time[0] ?? 0), next.time.at(-1) ?? 0);
      marks.replaceChildren(
        ...next.answer.moments.map((moment) => {
          const button = make("button", { type: "button" }, `${moment.place}: ${length(moment.least_cover, units)}`);
          button.addEventListener("click", () => choose(moment.worst));
          return make("li", {}, button);
        }),
      );
      const cells = (name: "th" | "td", words: string[]): HTMLElement => make("tr", {}, ...words.map((w) => make(name, {}, w)));
      table.replaceChildren(
        make("summary", {}, "The worst moments as a table"),
        make(
          "table",
          {},
          make("thead", {}, cells("th", ["where", "from", "to", "least over the mouth", "at"])),
          make(
            "tbody",
            {},
            ...next.answer.moments.map((m) => cells("td", [m.place, clock(m.start), clock(m.end), length(m.least_cover, units), clock(m.worst)])),
          ),
        ),
      );
      draw();
    },
    at(time) {
      now = time;
      point();
    },
  };
}

/** The hatch that says bare. */
export function hatch(): SVGElement {
  const pattern = svg("pattern", { id: "bare-hatch", width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
  pattern.append(svg("line", { class: "hatch", x1: 0, y1: 0, x2: 0, y2: 6 }));
  return svg("defs", {}, pattern);
}
