/** The drive in motion: plays it, and keeps it as a video where the browser can. */
import { make } from "../panels/make";
import { save } from "./api";

export interface Player {
  readonly element: HTMLElement;
  stop(): void;
}

/** `at` puts the drive at a time; `span` tells where it begins and ends; `canvas` is what is filmed. */
export function createPlayer(span: () => readonly [number, number], now: () => number, at: (time: number) => void, canvas: HTMLCanvasElement, say: (words: string) => void): Player {
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const play = make("button", { type: "button", "aria-pressed": "false" }, "Play");
  const film = make("button", { type: "button" }, "Keep 10 s as a video");
  let running = false;
  const run = (until: number, done: () => void): void => {
    running = true;
    film.disabled = true;
    play.textContent = "Stop";
    play.setAttribute("aria-pressed", "true");
    let before = performance.now();
    const tick = (moment: number): void => {
      // With reduced motion asked for, it goes in still steps.
      const wait = calm.matches ? 700 : 0;
      if (running && moment - before >= wait) {
        const time = now() + (calm.matches ? 0.5 : Math.min(0.25, (moment - before) / 1000));
        before = moment;
        if (time >= until) running = false;
        else at(time);
      }
      if (running) requestAnimationFrame(tick);
      else {
        play.textContent = "Play";
        play.setAttribute("aria-pressed", "false");
        film.disabled = false;
        done();
      }
    };
    requestAnimationFrame(tick);
  };
  play.addEventListener("click", () => {
    if (running) running = false;
    else {
      const [from, to] = span();
      if (now() >= to - 0.05) at(from);
      run(to, () => undefined);
    }
  });
  film.addEventListener("click", () => {
    const kind = ["video/webm;codecs=vp9", "video/webm", "video/mp4"].find(
      (k) => "MediaRecorder" in globalThis && MediaRecorder.isTypeSupported(k),
    );
    if (!kind || !("captureStream" in canvas)) {
      say("This browser cannot keep a video of the picture. Another one, such as a current Chromium or Firefox, can; a single picture works here.");
      return;
    }
    const recorder = new MediaRecorder(canvas.captureStream(30), { mimeType: kind });
    const parts: Blob[] = [];
    recorder.addEventListener("dataavailable", (event) => parts.push(event.data));
    recorder.addEventListener("stop", () => save(new Blob(parts, { type: kind }), kind.includes("webm") ? "oil.webm" : "oil.mp4"));
    recorder.start();
    say("Filming ten seconds of the drive as the picture shows them.");
    run(Math.min(span()[1], now() + 10), () => recorder.stop());
  });
  return { element: make("div", { class: "stage-row" }, play, film), stop: () => (running = false) };
}
