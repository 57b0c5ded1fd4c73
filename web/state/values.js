// @ts-check
/** Fraction, raw and physical of one control, and how a person reads them. */

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

/** Units a person reads as such; every other one is shown in percent. */
/** @type {Record<string, [short: string, long: string, digits: number]>} */
const UNITS = {
  Angle: ['°', ' degrees', 1],
  Temperature: [' K', ' kelvin', 0],
  Frequency: [' Hz', ' hertz', 1],
  AngularSpeed: ['°/s', ' degrees a second', 0],
  Time: [' s', ' seconds', 1],
  Length: [' m', ' metres', 2],
  Speed: [' m/s', ' metres a second', 2],
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

/** @param {number} value @param {number} digits */
const minus = (value, digits) => {
  const text = value.toFixed(digits);
  return (Number(text) === 0 ? text.replace('-', '') : text).replace('-', '\u2212');
};

/** @param {number} share 0..1 @returns {string} whole percent, with a decimal where whole ones would say 0 or 100 wrongly */
export function percent(share) {
  const at = share * 100;
  return (at > 0 && at < 1) || (at > 99 && at < 100) ? at.toFixed(1) : String(Math.round(at));
}

/**
 * What a control says at a value, in its function's unit, else in percent of that function's span.
 * @param {Control} control
 * @param {ControlFunction | undefined} fn
 * @param {number} fraction
 * @returns {{short: string, long: string}}
 */
export function valueText(control, fn, fraction) {
  const raw = rawOf(control, fraction);
  const dmx = fn?.dmx ?? [0, maxOf(control)];
  const unit = fn?.unit && fn.physical ? UNITS[fn.unit] : undefined;
  if (!unit || !fn?.physical) {
    const share = percent(physicalOf(raw, dmx, [0, 1]));
    return { short: `${share}\u202f%`, long: `${share} percent` };
  }
  const range = fn.ranges?.find((one) => one.dmx[0] <= raw && raw <= one.dmx[1] && one.physical);
  const value = range?.physical ? physicalOf(raw, range.dmx, range.physical) : physicalOf(raw, dmx, fn.physical);
  const digits = Math.abs(value) < 10 && unit[2] === 0 ? 1 : unit[2];
  return { short: minus(value, digits) + unit[0], long: value.toFixed(digits) + unit[1] };
}
