// @ts-check
/** A pane to mix a colour on: the disc and eight colours by name. */
import { h, write } from '../elements/dom.js';
import { FcDisc } from '../elements/fc-disc.js';
import { hueOf, rgbOf } from '../state/colour.js';
import { fractionOf, rawOf } from '../state/values.js';
import { colourWords } from '../state/words.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { same, valueOf } from './pane-faders.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../state/sheet.js').Grip} Grip */
/** @typedef {import('./pane-faders.js').Made} Made */

/** @param {import('../state/sheet.js').Disc} pane @param {Reach} reach @returns {Made} */
export function discPane({ sub, red, green, blue, white }, reach) {
  const disc = new FcDisc();
  const grips = [red, green, blue, ...(white ? [white] : [])];
  const keys = grips.flatMap((grip) => grip.keys);
  disc.locked = red.locked;
  const light = (/** @type {Grip} */ grip) => (sub ? 1 - valueOf(grip, reach) : valueOf(grip, reach));
  const mixed = (/** @type {number} */ hue, /** @type {number} */ saturation) => {
    const parts = [...rgbOf(hue, saturation), 1 - saturation];
    return Object.assign({}, ...grips.map((grip, at) => same(grip.keys, fractionOf(grip.control, rawOf(grip.control, sub ? 1 - (parts[at] ?? 0) : (parts[at] ?? 0))))));
  };
  disc.addEventListener('fc-grab', (event) => reach.grab(keys, late.mixing.what) || event.preventDefault());
  disc.addEventListener('fc-move', (event) => {
    const { hue, saturation } = /** @type {CustomEvent<{hue: number, saturation: number}>} */ (event).detail;
    reach.put(mixed(hue, saturation));
  });
  disc.addEventListener('fc-done', () => reach.put(Object.fromEntries(keys.map((key) => [key, reach.value(key)])), { now: true }));
  disc.addEventListener('fc-home', () => reach.home(keys, late.disc.label));
  const chip = (/** @type {number} */ at, /** @type {number} */ hue, /** @type {number} */ saturation) => {
    const swatch = h('i', { className: 'swatch' });
    swatch.style.background = `rgb(${rgbOf(hue, saturation).map((part) => Math.round(part * 255)).join(' ')})`;
    return h('button', { type: 'button', disabled: red.locked !== null, onclick: () => reach.change(keys, late.mixing.what, mixed(hue, saturation)) }, swatch, late.mixing.chips[at]);
  };
  const chips = [chip(0, 0, 0), ...[0, 32, 60, 120, 180, 240, 300].map((hue, at) => chip(at + 1, hue, 1))];
  const line = h('p', { className: 'colour-words' });
  const update = () => {
    const { hue, saturation } = hueOf(light(red), light(green), light(blue));
    const drive = reach.drive(red);
    disc.show(hue, saturation, drive, reach.isAsked(keys));
    const dark = !light(red) && !light(green) && !light(blue) && !(white && light(white));
    write(line, dark ? late.mixing.none : saturation < 0.08 ? words.colours.white : late.mixing.deep(colourWords(hue, saturation), String(Math.round(saturation * 100))));
    if (drive === 'other') disc.drop();
  };
  return { node: h('div', { className: 'colour' }, h('div', { className: 'round' }, disc, line), h('div', { className: 'chips' }, ...chips)), update };
}
