/** One plain store: which moment, what time, playing or not, how fast. */

export interface State {
  readonly moment: number;
  /** On the drive's clock [s]. */
  readonly time: number;
  readonly playing: boolean;
  /** Seconds of drive in a second. */
  readonly speed: number;
}

export interface Store {
  get(): State;
  set(change: Partial<State>): void;
  watch(seen: (state: State) => void): void;
}

export function createStore(first: State): Store {
  let state = first;
  const watchers: ((state: State) => void)[] = [];
  return {
    get: () => state,
    set(change) {
      state = { ...state, ...change };
      for (const seen of watchers) seen(state);
    },
    watch(seen) {
      watchers.push(seen);
    },
  };
}

/** Where `time` falls between frames: the frame at or before it and the share of the way to the next. */
export function between(times: readonly number[], time: number): { frame: number; share: number } {
  const last = times.length - 1;
  if (last < 0) return { frame: 0, share: 0 };
  let frame = 0;
  let high = last;
  while (frame < high) {
    const middle = (frame + high + 1) >> 1;
    if ((times[middle] ?? Infinity) <= time) frame = middle;
    else high = middle - 1;
  }
  const here = times[frame] ?? 0;
  const next = times[frame + 1];
  if (next === undefined) return { frame, share: 0 };
  return { frame, share: Math.min(1, Math.max(0, (time - here) / (next - here))) };
}

/** `width` values of a flat series between two frames. */
export function blend(series: readonly number[], width: number, at: { frame: number; share: number }): number[] {
  const row: number[] = [];
  for (let i = 0; i < width; i++) {
    const here = series[at.frame * width + i] ?? 0;
    const next = series[(at.frame + 1) * width + i] ?? here;
    row.push(here + at.share * (next - here));
  }
  return row;
}
