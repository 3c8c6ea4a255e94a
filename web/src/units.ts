/** SI to the shop's units, once. */

export type UnitOrder = "metric" | "inch";

/** Standard acceleration of gravity [m/s²], exact by definition (ISO 80000-3). */
export const STANDARD_GRAVITY = 9.80665;

/** A short length such as the cover over the mouth, first unit of the page's order. */
export function shortLength(metres: number, order: UnitOrder): string {
  if (metres > 0 && metres < 0.0005) return order === "metric" ? "under 1 mm" : "under 0.02 in";
  return order === "metric" ? `${(metres * 1e3).toFixed(0)} mm` : `${(metres / 0.0254).toFixed(2)} in`;
}

/** An acceleration in g. */
export function inG(acceleration: number): string {
  return `${(acceleration / STANDARD_GRAVITY).toFixed(2)} g`;
}

/** A time on the drive's clock. */
export function clock(seconds: number): string {
  return `${seconds.toFixed(2)} s`;
}

/** An angle in whole degrees. */
export function degrees(radians: number): string {
  return `${((radians * 180) / Math.PI).toFixed(0)}°`;
}

const QUART = 9.46352946e-4;
const INCH = 0.0254;

/** Both units, the page's own first. */
function both(order: UnitOrder, metric: string, inch: string): string {
  return order === "metric" ? `${metric} (${inch})` : `${inch} (${metric})`;
}

/** A length in both units. */
export function length(metres: number, order: UnitOrder): string {
  return both(order, `${(metres * 1e3).toFixed(0)} mm`, `${(metres / INCH).toFixed(2)} in`);
}

/** A volume in both units: litres, US liquid quarts. */
export function volume(cubic: number, order: UnitOrder): string {
  return both(order, `${(cubic * 1e3).toFixed(2)} L`, `${(cubic / QUART).toFixed(2)} qt`);
}

/** A road speed in both units. */
export function speed(metresASecond: number, order: UnitOrder): string {
  return both(order, `${(metresASecond * 3.6).toFixed(0)} km/h`, `${(metresASecond / 0.44704).toFixed(0)} mph`);
}

/** An engine speed from revolutions a second. */
export function rpm(revolutions: number): string {
  return `${(revolutions * 60).toFixed(0)} rpm`;
}
