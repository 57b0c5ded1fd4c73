// @ts-check
/** A pane of columns, and what every pane needs: one column, how fine it works, its number typed. */
import { h, mark } from '../elements/dom.js';
import { FcFader } from '../elements/fc-fader.js';
import { choose, prefs } from '../state/prefs.js';
import { fractionOf, hasUnit, isOpen, maxOf, rawOf, rawOfPhysical, unitOf, valueText, within } from '../state/values.js';
import { number, words } from '../words/words.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../state/sheet.js').Grip} Grip */
/** @typedef {{node: HTMLElement, update: () => void}} Made */

/** How fine a thumb or a nudge works; kept from fixture to fixture. step 0: one raw step. */
const FINENESS = [
  { name: words.faders.coarse, gain: 1, step: 0.05, degrees: 5 },
  { name: words.faders.fine, gain: 1 / 10, step: 0.01, degrees: 0.5 },
  { name: words.faders.finest, gain: 1 / 100, step: 0, degrees: 0 },
];
let fineness = 0;

export const fineAt = () => fineness;
export const fine = () => FINENESS[fineness] ?? { gain: 1, step: 0.05, degrees: 5 };

/** @param {string[]} keys @param {number} value @returns {Record<string, number>} */
export const same = (keys, value) => Object.fromEntries(keys.map((key) => [key, value]));

/** @param {Grip} grip @param {Reach} reach */
export const valueOf = (grip, reach) => reach.value(grip.keys[0] ?? '');

/** @param {() => void} changed */
export function finenessRow(changed) {
  const buttons = FINENESS.map(({ name }, at) => h('button', { type: 'button', onclick: () => ((fineness = at), draw(), changed()) }, name));
  const draw = () => buttons.forEach((button, at) => mark(button, 'aria-pressed', String(at === fineness)));
  draw();
  return h('div', { className: 'choice fineness', role: 'group', 'aria-label': words.faders.howFine }, ...buttons);
}

/**
 * A column for a grip, or for a part of it.
 * @param {Grip} grip
 * @param {Reach} reach
 * @param {{span?: () => [number, number], held?: boolean, limits?: () => [number, number]}} [part] fractions between which it works, and those within reach of a thumb
 * @returns {{node: FcFader, update: () => void}}
 */
export function column(grip, reach, part = {}) {
  const node = new FcFader();
  const span = part.span ?? (() => /** @type {[number, number]} */ ([grip.low, grip.high]));
  node.label = grip.label;
  node.locked = grip.locked;
  const put = (/** @type {number} */ fraction) => reach.put(same(grip.keys, fraction), { held: !!part.held });
  node.addEventListener('fc-grab', (event) => reach.grab(grip.keys, grip.label) || event.preventDefault());
  node.addEventListener('fc-move', (event) => {
    const [low, high] = span();
    const wanted = low + /** @type {CustomEvent<{position: number}>} */ (event).detail.position * (high - low);
    put(fractionOf(grip.control, rawOf(grip.control, wanted)));
  });
  node.addEventListener('fc-done', () => reach.put(same(grip.keys, valueOf(grip, reach)), { held: !!part.held, now: true }));
  node.addEventListener('fc-home', () => part.span || reach.home(grip.keys, grip.label));
  node.addEventListener('fc-type', () => void typeValue(grip, reach, part.limits?.() ?? span()));
  const update = () => {
    const fraction = valueOf(grip, reach);
    const [low, high] = span();
    node.home = (fractionOf(grip.control, grip.control.home) - low) / (high - low || 1);
    node.gain = Math.max(fine().gain, 1 / 16);
    node.step = Math.max(fine().step, 1 / maxOf(grip.control) / (high - low || 1));
    const raw = rawOf(grip.control, fraction);
    const fn = grip.control.functions.find((one) => one.dmx[0] <= raw && raw <= one.dmx[1] && isOpen(one, reach.mode, reach.value)) ?? grip.fn;
    if (part.limits) node.limits = /** @type {[number, number]} */ (part.limits().map((at) => within((at - low) / (high - low || 1))));
    node.show(within((fraction - low) / (high - low || 1)), valueText(grip.control, fn, fraction), reach.drive(grip), reach.isAsked(grip.keys));
    if (reach.drive(grip) === 'other') node.drop();
  };
  return { node, update };
}

/** @param {number} value @returns {number} digits to write it with */
const digitsOf = (value) => (Number.isInteger(value) ? 0 : 1);

/** @param {Grip} grip @param {Reach} reach @param {[number, number]} span fractions */
export async function typeValue(grip, reach, [low, high]) {
  if (grip.locked) return;
  const { askNumber } = await import('../elements/keypad.js');
  const max = maxOf(grip.control);
  const fn = grip.fn;
  /** A way of saying numbers that this phone keeps to, once chosen. @param {import('../state/prefs.js').Numbers} numbers */
  const kept = (numbers) => ({ numbers, start: valueText(grip.control, fn, valueOf(grip, reach), numbers).short, chosen: () => choose('numbers', numbers) });
  /** @param {number} fraction @param {string} range */
  const inside = (fraction, range) => (fraction < low - 1e-9 || fraction > high + 1e-9 ? words.keypad.range(range) : fraction);
  const percentScale = { ...kept('percent'), name: words.keypad.percent, read: (/** @type {number} */ typed) => inside(low + (typed / 100) * (high - low), words.keypad.goesPercent) };
  const whole = (/** @type {number} */ typed) => (Number.isInteger(typed) ? inside(typed / max, words.faders.fromTo(number(low * max), number(high * max))) : words.keypad.whole);
  const byteScale = { ...kept('raw'), name: '0-255', read: (/** @type {number} */ typed) => (max === 255 ? whole(typed) : inside(typed / 255, words.faders.fromTo(number(low * 255, digitsOf(low * 255)), number(high * 255, digitsOf(high * 255))))) };
  /** @type {(import('../elements/keypad.js').Scale & {numbers?: string})[]} */
  const scales = [percentScale, byteScale];
  if (max === 65535) scales.push({ name: `0-${max}`, start: String(rawOf(grip.control, valueOf(grip, reach))), read: whole });
  if (fn?.physical && hasUnit(fn)) {
    const [from, to] = fn.physical;
    const read = (/** @type {number} */ typed) => inside(fractionOf(grip.control, rawOfPhysical(typed, fn.dmx, [from, to])), words.faders.fromTo(number(from, digitsOf(from)), number(to, digitsOf(to)) + unitOf(fn)));
    scales.unshift({ ...kept('own'), name: unitOf(fn).trim() === '°' ? words.keypad.degrees : unitOf(fn).trim(), signed: Math.min(from, to) < 0, read });
  }
  scales.sort((a, b) => Number(b.numbers === prefs.numbers.value) - Number(a.numbers === prefs.numbers.value));
  const value = await askNumber(grip.label, scales);
  if (value !== null) reach.change(grip.keys, grip.label, same(grip.keys, fractionOf(grip.control, rawOf(grip.control, value))));
}

/** @param {import('../state/sheet.js').Faders} pane @param {Reach} reach @returns {Made} */
export function fadersPane(pane, reach) {
  const columns = pane.grips.map((grip) => column(grip, reach));
  const update = () => columns.forEach((one) => one.update());
  const only = pane.grips.length === 1 ? pane.grips[0] : undefined;
  const faders = h('div', { className: 'faders', 'data-count': pane.grips.length }, ...columns.map((one) => one.node), only ? quickButtons(only, reach) : null);
  return { node: h('div', { className: 'stack' }, faders, finenessRow(update)), update };
}

/** A rule beside the column: its marks stand at the heights they set. @param {Grip} grip @param {Reach} reach */
function quickButtons(grip, reach) {
  const marks = grip.control.attribute === 'Dimmer' ? [words.faders.full, '75', words.faders.half, '25', '0'] : ['100', '75', '50', '25', '0'];
  const press = (/** @type {number} */ share) => {
    const fraction = grip.low + share * (grip.high - grip.low);
    reach.change(grip.keys, grip.label, same(grip.keys, fractionOf(grip.control, rawOf(grip.control, fraction))));
  };
  return rule(grip.label, marks, grip.locked !== null, press);
}

/**
 * @param {string} label
 * @param {string[]} names for 1, 0.75, 0.5, 0.25 and 0
 * @param {boolean} locked
 * @param {(share: number) => void} press
 */
export function rule(label, names, locked, press) {
  const marks = names.map((name, at) => {
    const share = 1 - at / (names.length - 1);
    return h('button', { type: 'button', disabled: locked, 'aria-label': words.fader.at(label, Math.round(share * 100)), onclick: () => press(share) }, name);
  });
  return h('div', { className: 'rule' }, ...marks);
}
