/** The course from above: where the mouth is covered, thin, bare, and where the hand is. */
import { make } from "../panels/make";
import { rowAt, stretches, type Series } from "./series";
import { svg } from "./svg";

export interface Course {
  readonly element: HTMLElement;
  lap(series: Series): void;
  at(time: number): void;
}

const WIDE = 400;

export function createCourse(chosen: (time: number) => void): Course {
  let series: Series | undefined;
  let place: (at: number) => [number, number] = () => [0, 0];
  const drawing = svg("svg", { class: "course", role: "img", "aria-label": "the course from above" });
  const dot = svg("circle", { class: "here", r: 7 });
  const none = make("p", { class: "quiet" }, "The drive does not know its place, so there is no course to draw.");
  const caption = make("figcaption", {}, "The course: covered solid, thin dotted, bare hatched across. Click it to go there.");
  const element = make("figure", {}, drawing, none, caption);
  drawing.addEventListener("click", (event) => {
    if (!series) return;
    const box = drawing.getBoundingClientRect();
    const scale = (drawing.viewBox.baseVal.width || 1) / box.width;
    const [x, y] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
    let best = 0;
    let least = Infinity;
    for (let i = 0; i < series.time.length; i++) {
      const p = place(i);
      const far = Math.hypot(p[0] - x, p[1] - y);
      if (far < least) [least, best] = [far, i];
    }
    chosen(series.time[best] ?? 0);
  });
  return {
    element,
    lap(next) {
      series = next;
      const count = next.place.length / 2;
      drawing.style.display = count ? "" : "none";
      none.hidden = count > 0;
      caption.hidden = count === 0;
      if (!count) return;
      const xs = next.place.filter((_, i) => i % 2 === 0);
      const ys = next.place.filter((_, i) => i % 2 === 1);
      const range = (v: Float32Array): [number, number] => v.reduce(([a, b], n) => [Math.min(a, n), Math.max(b, n)], [Infinity, -Infinity] as [number, number]);
      const [[x0, x1], [y0, y1]] = [range(xs), range(ys)];
      const scale = (WIDE - 40) / Math.max(1e-6, x1 - x0, y1 - y0);
      const tall = (y1 - y0) * scale + 40;
      place = (i) => [20 + ((xs[i] ?? 0) - x0) * scale, tall - 20 - ((ys[i] ?? 0) - y0) * scale];
      drawing.setAttribute("viewBox", `0 0 ${(x1 - x0) * scale + 40} ${tall}`);
      const line = (from: number, to: number): string => {
        const points: string[] = [];
        const step = Math.max(1, Math.floor((to - from) / 400));
        for (let i = from; i < to; i += step) points.push(place(i).map((v) => v.toFixed(1)).join(" "));
        points.push(place(Math.min(to, count - 1)).map((v) => v.toFixed(1)).join(" "));
        return `M${points.join("L")}`;
      };
      const parts: Node[] = [svg("path", { class: "road", d: line(0, count) })];
      for (const stretch of stretches(next)) parts.push(svg("path", { class: `way-${stretch.word}`, d: line(stretch.from, stretch.to) }));
      next.answer.moments.forEach((moment, i) => {
        const [x, y] = place(rowAt(next.time, moment.worst));
        parts.push(svg("text", { class: "mark-word", x: x + 9, y: y - 9 }, String(i + 1)));
      });
      drawing.replaceChildren(...parts, dot);
    },
    at(time) {
      if (!series || !series.place.length) return;
      const [x, y] = place(rowAt(series.time, time));
      dot.setAttribute("cx", x.toFixed(1));
      dot.setAttribute("cy", y.toFixed(1));
    },
  };
}
