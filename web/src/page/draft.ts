/** What is changed against the file on disk: steps that can be taken back, kept in the browser for each design. */
import type { Change } from "../wire/types";

export interface Draft {
  /** Every state that was; the last undone ones stand behind `at`. */
  readonly steps: readonly (readonly Change[])[];
  readonly at: number;
}

export const FRESH: Draft = { steps: [[]], at: 0 };
const MOST_STEPS = 200;

export const changesOf = (draft: Draft): readonly Change[] => draft.steps[draft.at] ?? [];
export const canUndo = (draft: Draft): boolean => draft.at > 0;
export const canRedo = (draft: Draft): boolean => draft.at < draft.steps.length - 1;
export const undone = (draft: Draft): Draft => (canUndo(draft) ? { ...draft, at: draft.at - 1 } : draft);
export const redone = (draft: Draft): Draft => (canRedo(draft) ? { ...draft, at: draft.at + 1 } : draft);

/** The draft with `key` set; `saved` is its value on disk, which is no change. A slider on the move replaces its own step. */
export function changed(draft: Draft, key: string, value: string, saved: string | null, moving: boolean): Draft {
  const before = changesOf(draft);
  const rest = before.filter((change) => change.key !== key);
  const next = value === saved ? rest : [...rest, { key, value }];
  const kept = draft.steps.slice(0, moving && draft.at > 0 ? draft.at : draft.at + 1);
  const steps = [...kept, next].slice(-MOST_STEPS);
  return { steps, at: steps.length - 1 };
}

/** The draft with nothing changed; it can be taken back. */
export function cleared(draft: Draft): Draft {
  return changesOf(draft).length === 0 ? draft : { steps: [...draft.steps.slice(0, draft.at + 1), []], at: draft.at + 1 };
}

/** As text for the browser's store, and back. What cannot be read is no draft. */
export function written(draft: Draft): string {
  // The state shown is kept, with as many as fit on either side of it.
  const from = Math.max(0, Math.min(draft.at - 10, draft.steps.length - 20));
  return JSON.stringify({ steps: draft.steps.slice(from, from + 20), at: draft.at - from });
}

export function read(text: string | null): Draft {
  try {
    const found = JSON.parse(text ?? "") as Draft;
    const isChange = (c: Change): boolean => typeof c.key === "string" && typeof c.value === "string";
    const good = Array.isArray(found.steps) && found.steps.length > 0 && found.steps.every((s) => s.every(isChange));
    return good && found.at in found.steps ? found : FRESH;
  } catch {
    return FRESH;
  }
}
