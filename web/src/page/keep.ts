/** The changes as text, taken back and forth, and kept as a design of their own. */
import { make } from "../panels/make";
import type { SaveAnswer } from "../wire/types";

export interface Keep {
  readonly element: HTMLElement;
  show(state: { undo: boolean; redo: boolean; differences: readonly string[]; changes: number; name: string; file: string }): void;
}

export interface Hands {
  undo(): void;
  redo(): void;
  clear(): void;
  save(name: string, file: string): Promise<SaveAnswer>;
}

export function createKeep(hands: Hands, fail: (fault: unknown) => void): Keep {
  const button = (words: string, press: () => void): HTMLButtonElement => {
    const made = make("button", { type: "button" }, words);
    made.addEventListener("click", press);
    return made;
  };
  const [undo, redo, clear] = [button("Undo", hands.undo), button("Redo", hands.redo), button("As saved", hands.clear)];
  const list = make("ul", { "aria-live": "polite" });
  const name = make("input", { type: "text", id: "save-name", required: "" });
  const file = make("input", { type: "text", id: "save-file", required: "", pattern: ".*\\.toml" });
  const told = make("p", { role: "status" });
  const form = make(
    "form",
    { class: "save" },
    make("label", { for: "save-name" }, "Name of the new design"),
    name,
    make("label", { for: "save-file" }, "File beside this one"),
    file,
    make("button", { type: "submit" }, "Save as a revision"),
    told,
  );
  let typed = false;
  for (const input of [name, file]) input.addEventListener("input", () => (typed = true));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    told.textContent = "";
    hands.save(name.value.trim(), file.value.trim()).then(
      (answer) => {
        typed = false;
        told.textContent = `Saved as ${answer.file}; it names its base and states only what changed. The file it came from is as it was.`;
      },
      (fault: unknown) => fail(fault),
    );
  });
  return {
    element: make("div", {}, make("div", { class: "stage-row" }, undo, redo, clear), list, form),
    show(state) {
      undo.disabled = !state.undo;
      redo.disabled = !state.redo;
      clear.disabled = state.changes === 0;
      form.hidden = state.changes === 0;
      list.replaceChildren(
        ...(state.differences.length > 0 ? state.differences : ["Nothing is changed against the file."]).map((d) => make("li", {}, d)),
      );
      if (!typed) [name.value, file.value] = [state.name, state.file];
    },
  };
}
