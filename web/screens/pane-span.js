// @ts-check
/** Columns for several fixtures: a band from the lowest to the highest of them. */
import { h } from '../elements/dom.js';
import { FcFader } from '../elements/fc-fader.js';
import { movedBy } from '../state/together.js';
import { fractionOf, maxOf, percent, valueText } from '../state/values.js';
import { words } from '../words/words.js';
import { fine, finenessRow, rule, typeValue } from './pane-faders.js';

/** @typedef {import('./handful.js').Hand} Hand */
/** @typedef {import('../state/sheet.js').Grip} Grip */
/** @typedef {import('./pane-faders.js').Made} Made */

/** @param {string} low @param {string} high both with their unit @returns {string} one of them, or "20-80 %" */
export function same(low, high) {
  if (low === high) return high;
  const [, number = low, unit = ''] = /^([\d.,]+)(\D*)$/.exec(low) ?? [];
  return unit && high.endsWith(unit) && !low.startsWith('\u2212') ? `${number}\u2013${high}` : `${low} \u2013 ${high}`;
}

/** @param {Grip[]} grips @param {Hand} hand @param {() => boolean} isRelative @returns {Made} */
export function faderPane(grips, hand, isRelative) {
  const columns = grips.map((grip) => spanColumn(grip, hand, isRelative));
  const update = () => columns.forEach((one) => one.update());
  const only = grips.length === 1 ? grips[0] : undefined;
  const marks = only && rule(only.label, only.control.attribute === 'Dimmer' ? [words.faders.full, '75', words.faders.half, '25', '0'] : ['100', '75', '50', '25', '0'], false, (share) => {
    const name = hand.nameOfKey(only.keys[0] ?? '');
    if (hand.grab(only.keys, only.label)) hand.go(new Map([[name, hand.alike(name, share)]]), { now: true });
    hand.sayEnds(0, name);
  });
  const faders = h('div', { className: 'faders', 'data-count': grips.length }, ...columns.map((one) => one.node), marks);
  return { node: h('div', { className: 'stack' }, faders, finenessRow(update)), update };
}

/** @param {Grip} grip @param {Hand} hand @param {() => boolean} isRelative */
function spanColumn(grip, hand, isRelative) {
  const node = new FcFader();
  const name = hand.nameOfKey(grip.keys[0] ?? '');
  const alike = hand.isAlike(name);
  let moved = 0;
  node.label = grip.label;
  node.addEventListener('fc-grab', (event) => {
    moved = 0;
    if (!hand.grab(grip.keys, grip.label)) event.preventDefault();
  });
  node.addEventListener('fc-move', (event) => {
    const { position, by } = /** @type {CustomEvent<{position: number, by: number}>} */ (event).detail;
    if (!isRelative()) {
      hand.sayEnds(0, name);
      return hand.go(new Map([[name, hand.alike(name, position)]]));
    }
    const to = movedBy(hand.starts.get(name) ?? new Map(), moved + by);
    moved = to.by;
    hand.go(new Map([[name, to.places]]));
    hand.sayEnds(to.stopped, name);
    node.place(Math.max(0, ...to.places.values()));
  });
  node.addEventListener('fc-done', () => hand.go(new Map([[name, hand.places(name)]]), { now: true }));
  node.addEventListener('fc-home', () => hand.home(name, grip.label));
  node.addEventListener('fc-type', () => void typeValue(grip, hand.reach, [grip.low, grip.high]));
  const text = (/** @type {number} */ place) => {
    return alike ? valueText(grip.control, grip.fn, grip.low + place * (grip.high - grip.low)) : { short: `${percent(place)}\u202f%`, long: words.values.percent(percent(place)) };
  };
  const update = () => {
    const places = [...hand.places(name).values()];
    const [low, high] = [Math.min(1, ...places), Math.max(0, ...places)];
    const [from, to] = [text(low), text(high)];
    node.gain = Math.max(fine().gain, 1 / 16);
    node.step = Math.max(fine().step, 1 / maxOf(grip.control) / (grip.high - grip.low || 1));
    const drive = hand.drive();
    node.lowest = places.length && high - low > 0.002 ? low : null;
    node.show(places.length ? high : 0, { short: same(from.short, to.short), long: from.long === to.long ? to.long : words.faders.fromTo(from.long, to.long) }, drive, hand.isAsked(name));
    node.home = (fractionOf(grip.control, grip.control.home) - grip.low) / (grip.high - grip.low || 1);
    if (drive === 'other') node.drop();
  };
  return { node, update };
}
