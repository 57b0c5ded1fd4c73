// @ts-check
/** Colour temperature: kelvin, mired, and what two whites mixed make of it. No DOM. */
import { physicalOf, rawOfPhysical } from './values.js';

/** @typedef {import('../net/contract.js').ControlFunction} ControlFunction */
/** @typedef {[x: number, y: number, Y: number]} Chroma  CIE 1931 xyY */

/** One mired is about as much to the eye anywhere on the way; one kelvin is not. Mired = 1,000,000 / kelvin. @param {number} kelvin */
export const miredOf = (kelvin) => 1e6 / kelvin;

/**
 * Correlated colour temperature. C. S. McCamy, "Correlated color temperature as an explicit function of chromaticity
 * coordinates", Color Research and Application 17 (1992), cubic approximation; a few kelvin off between 2,900 and 6,500 K.
 * @param {number} x @param {number} y
 */
export function kelvinOf(x, y) {
  const n = (x - 0.332) / (0.1858 - y);
  return ((449 * n + 3525) * n + 6823.3) * n + 5520.33;
}

/** @param {Chroma} warm @param {Chroma} cool @param {number} a level of the warm one @param {number} b of the cool one @returns {number} mired */
export function miredOfMix([x, y, Y], [u, v, V], a, b) {
  const [p, q] = [(a * Y) / y, (b * V) / v]; // X + Y + Z of each: chromaticities mix by these
  return miredOf(kelvinOf((p * x + q * u) / (p + q), (p * y + q * v) / (p + q)));
}

/**
 * The levels, the stronger one at full, that make this white.
 * @param {Chroma} warm @param {Chroma} cool @param {number} mired between theirs
 * @returns {[warm: number, cool: number]} 0..1
 */
export function mixOf(warm, cool, mired) {
  let [low, high] = [0, 1]; // share of the warm one: more of it, more mired
  for (let n = 0; n < 24; n += 1) {
    const share = (low + high) / 2;
    if (miredOfMix(warm, cool, share, 1 - share) < mired) low = share;
    else high = share;
  }
  const share = (low + high) / 2;
  const most = Math.max(share, 1 - share);
  return [share < 1e-4 ? 0 : share / most, 1 - share < 1e-4 ? 0 : (1 - share) / most];
}

/** @param {ControlFunction} fn in kelvin @param {number} raw @returns {number | null} mired; null: another function is at work */
export function miredAt(fn, raw) {
  if (raw < fn.dmx[0] || raw > fn.dmx[1] || !fn.physical) return null;
  return miredOf(physicalOf(raw, fn.dmx, fn.physical));
}

/** @param {ControlFunction} fn in kelvin @param {number} mired inside its ends @returns {number} raw */
export const rawOfMired = (fn, mired) => rawOfPhysical(1e6 / mired, fn.dmx, fn.physical ?? [0, 1]);
