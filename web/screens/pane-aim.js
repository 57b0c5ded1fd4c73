// @ts-check
/** A pane to aim with: pan and tilt together. */
import { h, write } from '../elements/dom.js';
import { FcAim } from '../elements/fc-aim.js';
import { holdButton } from '../elements/fc-hold.js';
import { fractionOf, maxOf, rawOf, valueText, within } from '../state/values.js';
import { fine, finenessRow, same, typeValue, valueOf } from './pane-faders.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../state/sheet.js').Grip} Grip */
/** @typedef {import('./pane-faders.js').Made} Made */

/** @param {import('../state/sheet.js').Aim} pane @param {Reach} reach @returns {Made} */
export function aimPane({ pan, tilt }, reach) {
  const pad = new FcAim();
  const keys = [...pan.keys, ...tilt.keys];
  pad.locked = pan.locked ?? tilt.locked;
  const spread = (/** @type {Grip} */ grip, /** @type {number} */ position) => grip.low + position * (grip.high - grip.low);
  const position = (/** @type {Grip} */ grip) => within((valueOf(grip, reach) - grip.low) / (grip.high - grip.low || 1));
  const rounded = (/** @type {Grip} */ grip, /** @type {number} */ at) => same(grip.keys, fractionOf(grip.control, rawOf(grip.control, spread(grip, at))));
  pad.addEventListener('fc-grab', (event) => reach.grab(keys, 'aim') || event.preventDefault());
  pad.addEventListener('fc-move', (event) => {
    const at = /** @type {CustomEvent<{pan: number, tilt: number}>} */ (event).detail;
    reach.put({ ...rounded(pan, at.pan), ...rounded(tilt, at.tilt) });
  });
  pad.addEventListener('fc-done', () => reach.put({ ...same(pan.keys, valueOf(pan, reach)), ...same(tilt.keys, valueOf(tilt, reach)) }, { now: true }));

  const number = (/** @type {Grip} */ grip) => h('button', { type: 'button', className: 'number', disabled: grip.locked !== null, onclick: () => void typeValue(grip, reach, [grip.low, grip.high]) });
  const panNumber = number(pan);
  const tiltNumber = number(tilt);
  const stepOf = (/** @type {Grip} */ grip) => {
    const raw = 1 / maxOf(grip.control) / (grip.high - grip.low || 1);
    const physical = grip.fn?.unit === 'Angle' ? grip.fn.physical : null;
    return Math.max(raw, physical ? fine().degrees / Math.abs(physical[1] - physical[0] || 1) : fine().step / 4);
  };
  const arrow = (/** @type {string} */ sign, /** @type {string} */ words, /** @type {number} */ x, /** @type {number} */ y) =>
    h('button', { type: 'button', 'aria-label': words, disabled: pan.locked !== null, onclick: () => pad.nudge(x * stepOf(pan), y * stepOf(tilt)) }, sign);
  const centre = holdButton('Centre', 'It moves', () => reach.change(keys, 'aim', { ...rounded(pan, 0.5), ...rounded(tilt, 0.5) }));
  centre.disabled = pan.locked !== null;
  const arrows = h('div', { className: 'arrows' }, arrow('\u2190', 'Pan left', -1, 0), arrow('\u2192', 'Pan right', 1, 0), arrow('\u2191', 'Tilt up', 0, 1), arrow('\u2193', 'Tilt down', 0, -1));
  const update = () => {
    pad.gain = fine().gain;
    const long = { pan: valueText(pan.control, pan.fn, valueOf(pan, reach)), tilt: valueText(tilt.control, tilt.fn, valueOf(tilt, reach)) };
    write(panNumber, `Pan ${long.pan.short}`);
    write(tiltNumber, `Tilt ${long.tilt.short}`);
    const drive = reach.drive(pan) === 'home' ? reach.drive(tilt) : reach.drive(pan);
    pad.show(position(pan), position(tilt), { pan: long.pan.long, tilt: long.tilt.long }, drive, reach.isAsked(keys));
    if (drive === 'other') pad.drop();
  };
  const numbers = h('div', { className: 'numbers' }, panNumber, tiltNumber);
  return { node: h('div', { className: 'stack aim' }, numbers, pad, h('div', { className: 'under' }, arrows, centre), finenessRow(update)), update };
}
