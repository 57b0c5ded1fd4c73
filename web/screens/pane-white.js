// @ts-check
/** A pane for colour temperature: one column from warm to cool, its steps in mired. */
import { h, mark, write } from '../elements/dom.js';
import { FcFader } from '../elements/fc-fader.js';
import { fractionOf, maxOf, rawOf, within } from '../state/values.js';
import { kelvinOf, miredAt, miredOf, miredOfMix, mixOf, rawOfMired } from '../state/white.js';
import { late } from '../words/late.js';
import { fine, fineAt, finenessRow, same, valueOf } from './pane-faders.js';

const WORDS = late.whites;

/** Whites people ask for, in kelvin: tungsten, photo flood, neutral, daylight (common practice, no source). */
const NAMED = [6500, 5600, 4300, 3200, 2700];
const MIREDS = [20, 5, 1]; // coarse, fine, finest

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../state/white.js').Chroma} Chroma */
/** What the column works on. @typedef {{keys: string[], locked: string | null, ends: [cool: number, warm: number], now: () => number | null, values: (mired: number) => Record<string, number>,
 *   drive: () => import('../elements/fc-fader.js').Drive, grain: number}} Axis  ends, now: mired; grain: one raw step, in fractions */

/** @param {import('../state/sheet.js').White} pane @param {Reach} reach @returns {import('./pane-faders.js').Made} */
export function whitePane(pane, reach) {
  const axis = 'grip' in pane ? ofControl(pane.grip, pane.fn, reach) : ofMix(pane.warm, pane.cool, reach);
  const [cool, warm] = axis.ends;
  const node = new FcFader();
  node.label = WORDS.white;
  node.locked = axis.locked;
  const miredAtPlace = (/** @type {number} */ place) => warm - place * (warm - cool);
  node.addEventListener('fc-grab', (event) => reach.grab(axis.keys, WORDS.white) || event.preventDefault());
  node.addEventListener('fc-move', (event) => {
    const { position, by } = /** @type {CustomEvent<{position: number, by: number}>} */ (event).detail;
    const values = axis.values(miredAtPlace(position));
    // A step smaller than the control has: the next one it has.
    for (const key of axis.keys) if ('grip' in pane && values[key] === reach.value(key) && by) values[key] = within((values[key] ?? 0) + Math.sign(by) * axis.grain);
    reach.put(values);
  });
  node.addEventListener('fc-done', () => reach.put(Object.fromEntries(axis.keys.map((key) => [key, reach.value(key)])), { now: true }));
  node.addEventListener('fc-home', () => reach.home(axis.keys, WORDS.white));
  node.addEventListener('fc-type', () => void type());
  const go = (/** @type {number} */ mired) => reach.change(axis.keys, WORDS.white, axis.values(mired));
  const type = async () => {
    if (axis.locked) return;
    const { askNumber } = await import('../elements/keypad.js');
    const [from, to] = [Math.ceil(1e6 / warm - 0.5), Math.floor(1e6 / cool + 0.5)];
    const inside = (/** @type {number} */ mired, /** @type {string} */ no) => (mired < cool - 0.5 || mired > warm + 0.5 ? no : within(mired, cool, warm));
    const now = axis.now();
    const wanted = await askNumber(WORDS.white, [
      { name: WORDS.kelvin, start: now ? `${Math.round(1e6 / now)}` : WORDS.off, read: (typed) => (typed < from || typed > to ? WORDS.goes(from, to) : within(1e6 / typed, cool, warm)) },
      { name: WORDS.mired, start: now ? `${Math.round(now)}` : WORDS.off, read: (typed) => inside(typed, WORDS.goes(Math.round(cool), Math.round(warm))) },
    ]);
    if (wanted !== null) go(wanted);
  };
  const named = NAMED.filter((kelvin) => miredOf(kelvin) >= cool - 0.5 && miredOf(kelvin) <= warm + 0.5);
  const chips = named.map((kelvin) => h('button', { type: 'button', disabled: axis.locked !== null, onclick: () => go(within(miredOf(kelvin), cool, warm)) }, `${kelvin}\u202fK`));
  const words = h('p', { className: 'colour-words' });
  const update = () => {
    const mired = axis.now();
    const kelvin = mired ? Math.round(1e6 / mired) : 0;
    const step = (MIREDS[fineAt()] ?? 1) / (warm - cool);
    node.gain = Math.max(fine().gain, 1 / 16);
    node.step = step;
    const text = mired ? { short: `${kelvin}\u202fK`, long: WORDS.long(kelvin, Math.round(mired)) } : { short: WORDS.off, long: WORDS.off };
    write(words, mired ? WORDS.short(Math.round(mired)) : WORDS.isOff);
    node.show(mired ? within((warm - mired) / (warm - cool)) : 0, text, axis.drive(), reach.isAsked(axis.keys));
    chips.forEach((chip, at) => mark(chip, 'aria-pressed', String(!!mired && Math.abs(miredOf(named[at] ?? 1) - mired) < 1)));
    if (axis.drive() === 'other') node.drop();
  };
  const faders = h('div', { className: 'faders whites', 'data-count': 1 }, node, h('div', { className: 'rule' }, ...chips));
  return { node: h('div', { className: 'stack' }, faders, words, finenessRow(update)), update };
}

/** @param {import('../state/sheet.js').Grip} grip @param {import('../net/contract.js').ControlFunction} fn @param {Reach} reach @returns {Axis} */
function ofControl(grip, fn, reach) {
  const [from, to] = (fn.physical ?? [1, 1]).map(miredOf);
  return {
    keys: grip.keys,
    locked: grip.locked,
    ends: [Math.min(from ?? 0, to ?? 0), Math.max(from ?? 0, to ?? 0)],
    now: () => miredAt(fn, rawOf(grip.control, valueOf(grip, reach))),
    values: (mired) => same(grip.keys, fractionOf(grip.control, rawOfMired(fn, mired))),
    drive: () => reach.drive(grip),
    // Up is cooler; whether that is more or less depends on the profile.
    grain: Math.sign((from ?? 0) - (to ?? 0)) / maxOf(grip.control),
  };
}

/** @param {import('../state/sheet.js').Grip} warm @param {import('../state/sheet.js').Grip} cool @param {Reach} reach @returns {Axis} */
function ofMix(warm, cool, reach) {
  /** Where the profile does not say: 2700 and 6500 K on the black-body line, as bright as each other (common practice, no source). */
  const chroma = (/** @type {import('../state/sheet.js').Grip} */ grip, /** @type {Chroma} */ otherwise) => reach.profile?.emitters?.[grip.fn?.emitter ?? '']?.xyY ?? otherwise;
  const [w, c] = [chroma(warm, [0.4599, 0.4106, 1]), chroma(cool, [0.3135, 0.3237, 1])];
  const rounded = (/** @type {import('../state/sheet.js').Grip} */ grip, /** @type {number} */ share) => same(grip.keys, fractionOf(grip.control, rawOf(grip.control, grip.low + share * (grip.high - grip.low))));
  return {
    keys: [...warm.keys, ...cool.keys],
    locked: warm.locked ?? cool.locked,
    ends: [miredOf(kelvinOf(c[0], c[1])), miredOf(kelvinOf(w[0], w[1]))],
    now() {
      const [a, b] = [valueOf(warm, reach), valueOf(cool, reach)];
      return a + b > 0 ? miredOfMix(w, c, a, b) : null;
    },
    values(mired) {
      const [a, b] = mixOf(w, c, mired);
      return { ...rounded(warm, a), ...rounded(cool, b) };
    },
    drive: () => (reach.drive(warm) === 'home' ? reach.drive(cool) : reach.drive(warm)),
    grain: 0,
  };
}
