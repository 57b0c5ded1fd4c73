// @ts-check
/** Hue and saturation to emitters and back, and a wheel slot's colour for the screen. No DOM. */

/** @param {number} hue degrees @param {number} saturation 0..1 @returns {[number, number, number]} at full value */
export function rgbOf(hue, saturation) {
  const part = (/** @type {number} */ n) => {
    const k = (n + hue / 60) % 6;
    return 1 - saturation * Math.max(0, Math.min(k, 4 - k, 1));
  };
  return [part(5), part(3), part(1)];
}

/** @param {number} r @param {number} g @param {number} b @returns {{hue: number, saturation: number}} */
export function hueOf(r, g, b) {
  const most = Math.max(r, g, b);
  const span = most - Math.min(r, g, b);
  if (!most || !span) return { hue: 0, saturation: 0 };
  const sixth = most === r ? (g - b) / span : most === g ? 2 + (b - r) / span : 4 + (r - g) / span;
  return { hue: (sixth * 60 + 360) % 360, saturation: span / most };
}

/**
 * CIE 1931 xyY to a CSS colour, brightest part at full: a hint of what a filter looks like, no more.
 * Matrix: IEC 61966-2-1 (sRGB, D65).
 * @param {[number, number, number]} xyY
 */
export function cssOf([x, y]) {
  return `rgb(${shownOf(linearOf([x, y, 1])).join(' ')})`;
}

/** Red, green and blue of a light, linear and not clipped: may be negative. Matrix as above. @param {[number, number, number]} xyY @returns {[number, number, number]} */
export function linearOf([x, y, bright]) {
  const [X, Y, Z] = y > 0 ? [(bright * x) / y, bright, (bright * (1 - x - y)) / y] : [0, 0, 0];
  return [3.2406 * X - 1.5372 * Y - 0.4986 * Z, -0.9689 * X + 1.8758 * Y + 0.0415 * Z, 0.0557 * X - 0.204 * Y + 1.057 * Z];
}

/** @param {number[]} linear @returns {number[]} 0-255 as a screen wants it, brightest part at full */
export function shownOf(linear) {
  const most = Math.max(...linear, 1e-6);
  return linear.map((part) => Math.round(255 * Math.max(0, part / most) ** (1 / 2.2)));
}
