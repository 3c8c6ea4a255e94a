import type { Colours } from "./scene/part";

/** The colours of tokens.css as they apply now. */
export function coloursNow(): Colours {
  const style = getComputedStyle(document.documentElement);
  const read = (name: string): number => Number.parseInt(style.getPropertyValue(name).trim().slice(1), 16) || 0;
  return {
    ground: read("--ground"),
    metal: read("--metal"),
    oil: read("--oil"),
    way: read("--way"),
    bare: read("--bare"),
    main: read("--main"),
  };
}
