// @ts-check
/** How fast a step flashes, and which part of it is slow enough. As the server has it, which decides. No DOM. */
import { rig } from './rig.js';
import { physicalOf, secondsTo } from './values.js';

/** @typedef {import('./sheet.js').Step} Step */

const MOST_HZ = 3; // WCAG 2.2, 2.3.1: the whole rig together
const LIFTED_BELOW_HZ = 5; // common practice for theatres, no source

/** @param {string} id @returns {boolean} the lead lets this fixture flash faster just now */
export const isLifted = (id) => rig.lifted.value?.fixture === id && secondsTo(rig.lifted.value.ends) > 0;

/** @param {import('../net/contract.js').ControlFunction} fn @param {number} raw @returns {number} flashes a second; infinite where nobody knows */
function rateAt(fn, raw) {
  if (fn.unit !== 'Frequency' || !fn.physical) return Infinity;
  const range = fn.ranges?.find((one) => one.physical && one.dmx[0] <= raw && raw <= one.dmx[1]);
  return Math.abs(range?.physical ? physicalOf(raw, range.dmx, range.physical) : physicalOf(raw, fn.dmx, fn.physical));
}

/** @param {Step} step @returns {boolean} */
export const isKnown = ({ fn }) => fn.unit === 'Frequency' && !!fn.physical;

/**
 * @param {Step} step one that flashes
 * @param {boolean} lifted
 * @returns {{from: number, to: number, start: number} | null} raw values between which it is slow enough, and where to begin
 */
export function slowEnough({ fn, dmx, raw }, lifted) {
  const fits = (/** @type {number} */ at) => (lifted ? rateAt(fn, at) < LIFTED_BELOW_HZ : rateAt(fn, at) <= MOST_HZ);
  let [from, to] = dmx;
  while (from <= to && !fits(from)) from += 1;
  while (from <= to && !fits(to)) to -= 1;
  if (from > to) return null;
  const slowest = rateAt(fn, from) <= rateAt(fn, to) ? from : to;
  return { from, to, start: fits(raw) ? raw : slowest };
}
