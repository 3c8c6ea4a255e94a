/** SVG elements without markup. */
export function svg<Name extends keyof SVGElementTagNameMap>(
  name: Name,
  attributes: Readonly<Record<string, string | number>> = {},
  ...children: (Node | string)[]
): SVGElementTagNameMap[Name] {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...children);
  return element;
}

/** A drawing as a file of its own: colours of the page are written into it, since a file has no page round it. */
export function fileOf(drawing: SVGSVGElement): Blob {
  const copy = drawing.cloneNode(true) as SVGSVGElement;
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  const originals = [drawing, ...drawing.querySelectorAll("*")];
  [copy, ...copy.querySelectorAll("*")].forEach((element, i) => {
    const style = originals[i] ? getComputedStyle(originals[i]) : undefined;
    if (!style) return;
    for (const key of ["fill", "stroke", "stroke-width", "stroke-dasharray", "font-size", "font-weight", "font-family", "text-anchor"]) {
      element.setAttribute(key, style.getPropertyValue(key));
    }
  });
  return new Blob([new XMLSerializer().serializeToString(copy)], { type: "image/svg+xml" });
}
