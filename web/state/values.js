// @ts-check
/** Fraction, raw and physical of one control, and how a person reads them. */
import { number, words } from '../words/words.js';
import { prefs } from './prefs.js';

/** @typedef {import('../net/contract.js').Control} Control */
/** @typedef {import('../net/contract.js').ControlFunction} ControlFunction */
/** @typedef {import('../net/contract.js').Mode} Mode */

/** @param {Control} control @returns {number} the largest raw value; a virtual control has 16 bits */
export const maxOf = (control) => 256 ** (control.offset.length || 2) - 1;

/** raw = floor(fraction * max + 0.5), as everywhere. @param {Control} control @param {number} fraction */
export const rawOf = (control, fraction) => Math.floor(fraction * maxOf(control) + 0.5);

/** @param {Control} control @param {number} raw */
export const fractionOf = (control, raw) => raw / maxOf(control);

/** Pulls a thumb's wish into 0..1: a drag past the end is no error. @param {number} fraction */
export const within = (fraction, low = 0, high = 1) => Math.min(high, Math.max(low, fraction));

/**
 * Does the other control that this function depends on have a fitting value?
 * @param {ControlFunction} fn
 * @param {Mode} mode
 * @param {(key: string) => number} valueOf fraction of a control
 */
export function isOpen(fn, mode, valueOf) {
  const master = fn.mode_master;
  const control = master && mode.controls.find((one) => one.key === master.control);
  if (!master || !control) return true;
  const raw = rawOf(control, valueOf(control.key));
  return master.dmx[0] <= raw && raw <= master.dmx[1];
}

/** @param {number} ends by performance.now() @returns {number} whole seconds until then, the one begun counted */
export const secondsTo = (ends) => Math.max(0, Math.ceil((ends - performance.now()) / 1000));

/** @param {number} seconds @returns {string} as a clock counts down: "0:42" */
export const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;

/** Units a person reads as such; every other one is shown in percent. */
/** @type {Record<string, [sign: string, digits: number]>} */
const UNITS = {
  Angle: ['°', 1],
  Temperature: [' K', 0],
  Frequency: [' Hz', 1],
  AngularSpeed: ['°/s', 0],
  Time: [' s', 1],
  Length: [' m', 2],
  Speed: [' m/s', 2],
};

/** @param {ControlFunction | undefined} fn @returns {boolean} has a physical unit worth showing */
export const hasUnit = (fn) => !!fn?.physical && !!fn.unit && fn.unit in UNITS;

/** @param {ControlFunction | undefined} fn */
export const unitOf = (fn) => (fn?.unit && UNITS[fn.unit]?.[0]) || ' %';

/**
 * @param {number} raw inside the span
 * @param {[number, number]} dmx raw span, both ends included
 * @param {[number, number]} physical
 */
export function physicalOf(raw, dmx, physical) {
  const along = dmx[1] > dmx[0] ? (raw - dmx[0]) / (dmx[1] - dmx[0]) : 0;
  return physical[0] + along * (physical[1] - physical[0]);
}

/** The inverse; not checked against the ends. @param {number} value @param {[number, number]} dmx @param {[number, number]} physical */
export function rawOfPhysical(value, dmx, physical) {
  const along = (value - physical[0]) / (physical[1] - physical[0]);
  return Math.floor(dmx[0] + along * (dmx[1] - dmx[0]) + 0.5);
}

/** @param {number} share 0..1 @returns {string} whole percent, with a decimal where whole ones would say 0 or 100 wrongly */
export function percent(share) {
  const at = share * 100;
  return number(at, (at > 0 && at < 1) || (at > 99 && at < 100) ? 1 : 0);
}

/**
 * What a control says at a value: in its function's unit, else in percent of that function's span, or as 0-255.
 * @param {Control} control
 * @param {ControlFunction | undefined} fn
 * @param {number} fraction
 * @param {import('./prefs.js').Numbers} [numbers] as this phone reads them
 * @returns {{short: string, long: string}}
 */
export function valueText(control, fn, fraction, numbers = prefs.numbers.value) {
  const raw = rawOf(control, fraction);
  const dmx = fn?.dmx ?? [0, maxOf(control)];
  if (numbers === 'raw') {
    const byte = Number(((raw / maxOf(control)) * 255).toFixed(1)); // a wide control in 256 parts too
    const text = number(byte, Number.isInteger(byte) ? 0 : 1);
    return { short: text, long: words.values.ofByte(text) };
  }
  const unit = numbers === 'own' && fn?.unit && fn.physical ? UNITS[fn.unit] : undefined;
  if (!unit || !fn?.physical) {
    const share = percent(physicalOf(raw, dmx, [0, 1]));
    return { short: `${share}\u202f%`, long: words.values.percent(share) };
  }
  const range = fn.ranges?.find((one) => one.dmx[0] <= raw && raw <= one.dmx[1] && one.physical);
  const value = range?.physical ? physicalOf(raw, range.dmx, range.physical) : physicalOf(raw, dmx, fn.physical);
  const [sign, whole] = unit;
  const text = number(value, Math.abs(value) < 10 && whole === 0 ? 1 : whole);
  return { short: text + sign, long: text.replace('\u2212', '-') + (words.values.units[fn.unit ?? ''] ?? sign) };
}
