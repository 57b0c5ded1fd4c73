// @ts-check
/** One pane of a fixture's sheet: joins elements to the controls they stand for. */
import { h, mark, write } from '../elements/dom.js';
import { FcAim } from '../elements/fc-aim.js';
import { FcDisc } from '../elements/fc-disc.js';
import { FcFader } from '../elements/fc-fader.js';
import { FcHold, holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { command } from '../state/asked.js';
import { cssOf, hueOf, rgbOf } from '../state/colour.js';
import { fixture, rig } from '../state/rig.js';
import { stepAt, stepsOf } from '../state/sheet.js';
import { fractionOf, hasUnit, isOpen, maxOf, rawOf, rawOfPhysical, unitOf, valueText, within } from '../state/values.js';
import { colourWords, guardWords } from '../state/words.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../state/sheet.js').Pane} Pane */
/** @typedef {import('../state/sheet.js').Grip} Grip */
/** @typedef {{node: HTMLElement, update: () => void}} Made */

/** How fine a thumb or a nudge works; kept from fixture to fixture. step 0: one raw step. */
const FINENESS = [
  { name: 'Coarse', gain: 1, step: 0.05, degrees: 5 },
  { name: 'Fine', gain: 1 / 10, step: 0.01, degrees: 0.5 },
  { name: 'Finest', gain: 1 / 100, step: 0, degrees: 0 },
];
let fineness = 0;

const SEIZURES = 'Flashing light can set off seizures. Warn everybody in the room first.';

/** @param {Pane} pane @param {Reach} reach @returns {Made} */
export function makePane(pane, reach) {
  if (pane.kind === 'faders') return fadersPane(pane, reach);
  if (pane.kind === 'aim') return aimPane(pane, reach);
  if (pane.kind === 'disc') return discPane(pane, reach);
  if (pane.kind === 'steps') return stepsPane(pane, reach);
  return actsPane(pane, reach);
}

/** @param {string[]} keys @param {number} value @returns {Record<string, number>} */
const same = (keys, value) => Object.fromEntries(keys.map((key) => [key, value]));

/** @param {Grip} grip @param {Reach} reach */
const valueOf = (grip, reach) => reach.value(grip.keys[0] ?? '');

/** @param {() => void} changed */
function finenessRow(changed) {
  const buttons = FINENESS.map(({ name }, at) => h('button', { type: 'button', onclick: () => ((fineness = at), draw(), changed()) }, name));
  const draw = () => buttons.forEach((button, at) => mark(button, 'aria-pressed', String(at === fineness)));
  draw();
  return h('div', { className: 'choice fineness', role: 'group', 'aria-label': 'How fine' }, ...buttons);
}

/**
 * A column for a grip, or for a part of it.
 * @param {Grip} grip
 * @param {Reach} reach
 * @param {{span?: () => [number, number], held?: boolean}} [part] fractions between which it works
 * @returns {{node: FcFader, update: () => void}}
 */
function column(grip, reach, part = {}) {
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
  node.addEventListener('fc-home', () => part.span || reach.change(grip.keys, grip.label, same(grip.keys, grip.control.home)));
  node.addEventListener('fc-type', () => void typeValue(grip, reach, span()));
  const update = () => {
    const fraction = valueOf(grip, reach);
    const [low, high] = span();
    const fine = FINENESS[fineness] ?? { gain: 1, step: 0.05 };
    node.gain = Math.max(fine.gain, 1 / 16);
    node.step = Math.max(fine.step, 1 / maxOf(grip.control) / (high - low || 1));
    const raw = rawOf(grip.control, fraction);
    const fn = grip.control.functions.find((one) => one.dmx[0] <= raw && raw <= one.dmx[1] && isOpen(one, reach.mode, reach.value)) ?? grip.fn;
    node.show(within((fraction - low) / (high - low || 1)), valueText(grip.control, fn, fraction), reach.drive(grip), reach.isAsked(grip.keys));
    if (reach.drive(grip) === 'other') node.drop();
  };
  return { node, update };
}

/** @param {Grip} grip @param {Reach} reach @param {[number, number]} span fractions */
async function typeValue(grip, reach, [low, high]) {
  if (grip.locked) return;
  const { askNumber } = await import('../elements/keypad.js');
  const max = maxOf(grip.control);
  const fn = grip.fn;
  const at = valueText(grip.control, fn, valueOf(grip, reach)).short;
  /** @param {number} fraction @param {string} range */
  const inside = (fraction, range) => (fraction < low - 1e-9 || fraction > high + 1e-9 ? `It goes from ${range}.` : fraction);
  const percentScale = { name: 'Percent', start: at, read: (/** @type {number} */ typed) => inside(low + (typed / 100) * (high - low), '0 to 100 percent') };
  const rawScale = { name: `0-${max}`, start: at, read: (/** @type {number} */ typed) => (Number.isInteger(typed) ? inside(typed / max, `${Math.round(low * max)} to ${Math.round(high * max)}`) : 'Whole numbers only.') };
  /** @type {import('../elements/keypad.js').Scale[]} */
  const scales = max > 65535 ? [percentScale] : [percentScale, rawScale];
  if (fn?.physical && hasUnit(fn)) {
    const [from, to] = fn.physical;
    const read = (/** @type {number} */ typed) => inside(fractionOf(grip.control, rawOfPhysical(typed, fn.dmx, [from, to])), `${from} to ${to}${unitOf(fn)}`);
    scales.unshift({ name: unitOf(fn).trim() === '°' ? 'Degrees' : unitOf(fn).trim(), start: at, signed: Math.min(from, to) < 0, read });
  }
  const value = await askNumber(grip.label, scales);
  if (value !== null) reach.change(grip.keys, grip.label, same(grip.keys, fractionOf(grip.control, rawOf(grip.control, value))));
}

/** @param {import('../state/sheet.js').Faders} pane @param {Reach} reach @returns {Made} */
function fadersPane(pane, reach) {
  const columns = pane.grips.map((grip) => column(grip, reach));
  const update = () => columns.forEach((one) => one.update());
  const only = pane.grips.length === 1 ? pane.grips[0] : undefined;
  const faders = h('div', { className: 'faders', 'data-count': pane.grips.length }, ...columns.map((one) => one.node), only ? quickButtons(only, reach) : null);
  return { node: h('div', { className: 'stack' }, faders, finenessRow(update)), update };
}

/** @param {Grip} grip @param {Reach} reach */
function quickButtons(grip, reach) {
  const isLevel = grip.control.attribute === 'Dimmer';
  const quick = isLevel ? /** @type {const} */ ([['Full', 1], ['75', 0.75], ['Half', 0.5], ['25', 0.25], ['Glow', 0.1], ['0', 0]]) : /** @type {const} */ ([['100', 1], ['75', 0.75], ['50', 0.5], ['25', 0.25], ['0', 0]]);
  const buttons = quick.map(([words, share]) => {
    const fraction = grip.low + share * (grip.high - grip.low);
    const press = () => reach.change(grip.keys, grip.label, same(grip.keys, fractionOf(grip.control, rawOf(grip.control, fraction))));
    return h('button', { type: 'button', disabled: grip.locked !== null, 'aria-label': `${grip.label} ${Math.round(share * 100)} percent`, onclick: press }, words);
  });
  return h('div', { className: 'quick' }, ...buttons);
}

/** @param {import('../state/sheet.js').Aim} pane @param {Reach} reach @returns {Made} */
function aimPane({ pan, tilt }, reach) {
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
    const fine = FINENESS[fineness] ?? { step: 0.05, degrees: 5 };
    const raw = 1 / maxOf(grip.control) / (grip.high - grip.low || 1);
    const physical = grip.fn?.unit === 'Angle' ? grip.fn.physical : null;
    return Math.max(raw, physical ? fine.degrees / Math.abs(physical[1] - physical[0] || 1) : fine.step / 4);
  };
  const arrow = (/** @type {string} */ sign, /** @type {string} */ words, /** @type {number} */ x, /** @type {number} */ y) =>
    h('button', { type: 'button', 'aria-label': words, disabled: pan.locked !== null, onclick: () => pad.nudge(x * stepOf(pan), y * stepOf(tilt)) }, sign);
  const centre = holdButton('Centre', 'It moves', () => reach.change(keys, 'aim', { ...rounded(pan, 0.5), ...rounded(tilt, 0.5) }));
  centre.disabled = pan.locked !== null;
  const arrows = h('div', { className: 'arrows' }, arrow('\u2190', 'Pan left', -1, 0), arrow('\u2192', 'Pan right', 1, 0), arrow('\u2191', 'Tilt up', 0, 1), arrow('\u2193', 'Tilt down', 0, -1));
  const update = () => {
    pad.gain = FINENESS[fineness]?.gain ?? 1;
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

/** @param {import('../state/sheet.js').Disc} pane @param {Reach} reach @returns {Made} */
function discPane({ sub, red, green, blue, white }, reach) {
  const disc = new FcDisc();
  const grips = [red, green, blue, ...(white ? [white] : [])];
  const keys = grips.flatMap((grip) => grip.keys);
  disc.locked = red.locked;
  const light = (/** @type {Grip} */ grip) => (sub ? 1 - valueOf(grip, reach) : valueOf(grip, reach));
  const mixed = (/** @type {number} */ hue, /** @type {number} */ saturation) => {
    const parts = [...rgbOf(hue, saturation), 1 - saturation];
    return Object.assign({}, ...grips.map((grip, at) => same(grip.keys, fractionOf(grip.control, rawOf(grip.control, sub ? 1 - (parts[at] ?? 0) : (parts[at] ?? 0))))));
  };
  disc.addEventListener('fc-grab', (event) => reach.grab(keys, 'colour') || event.preventDefault());
  disc.addEventListener('fc-move', (event) => {
    const { hue, saturation } = /** @type {CustomEvent<{hue: number, saturation: number}>} */ (event).detail;
    reach.put(mixed(hue, saturation));
  });
  disc.addEventListener('fc-done', () => reach.put(Object.fromEntries(keys.map((key) => [key, reach.value(key)])), { now: true }));
  disc.addEventListener('fc-home', () => reach.change(keys, 'colour', mixed(0, 0)));
  const chip = (/** @type {string} */ words, /** @type {number} */ hue, /** @type {number} */ saturation) => {
    const swatch = h('i', { className: 'swatch' });
    swatch.style.background = `rgb(${rgbOf(hue, saturation).map((part) => Math.round(part * 255)).join(' ')})`;
    return h('button', { type: 'button', disabled: red.locked !== null, onclick: () => reach.change(keys, 'colour', mixed(hue, saturation)) }, swatch, words);
  };
  const chips = [chip('White', 0, 0), chip('Red', 0, 1), chip('Amber', 32, 1), chip('Yellow', 60, 1), chip('Green', 120, 1), chip('Cyan', 180, 1), chip('Blue', 240, 1), chip('Magenta', 300, 1)];
  const words = h('p', { className: 'colour-words' });
  const update = () => {
    const { hue, saturation } = hueOf(light(red), light(green), light(blue));
    const drive = reach.drive(red);
    disc.show(hue, saturation, drive, reach.isAsked(keys));
    const dark = !light(red) && !light(green) && !light(blue) && !(white && light(white));
    write(words, dark ? 'no colour: every emitter at 0' : `${colourWords(hue, saturation)}, ${Math.round(saturation * 100)}\u202f% deep`);
    if (drive === 'other') disc.drop();
  };
  return { node: h('div', { className: 'colour' }, h('div', { className: 'round' }, disc, words), h('div', { className: 'chips' }, ...chips)), update };
}

/** @param {import('../state/sheet.js').Steps} pane @param {Reach} reach @returns {Made} */
function stepsPane({ grip }, reach) {
  const steps = stepsOf(grip.control);
  const wheel = (/** @type {import('../state/sheet.js').Step} */ step) => step.fn.wheel ? /** @type {any} */ (reach.profile?.wheels?.[step.fn.wheel]?.[(step.slot ?? 0) - 1])?.xyY : null;
  const press = (/** @type {import('../state/sheet.js').Step} */ step) => reach.change(grip.keys, grip.label, same(grip.keys, fractionOf(grip.control, step.raw)), step.strobe);
  const chips = steps.map((step) => {
    const ends = step.varies && hasUnit(step.fn) ? step.dmx.map((raw) => valueText(grip.control, step.fn, fractionOf(grip.control, raw)).short).join(' to ') : '';
    if (step.strobe) {
      const hold = holdButton(`${step.label} ${ends}`, SEIZURES, () => press(step));
      hold.disabled = grip.locked !== null;
      return hold;
    }
    const colour = wheel(step);
    const swatch = colour ? h('i', { className: 'swatch' }) : null;
    if (swatch) swatch.style.background = cssOf(colour);
    return h('button', { type: 'button', disabled: grip.locked !== null, onclick: () => press(step) }, swatch, h('span', null, step.label, ends ? h('small', null, ends) : null));
  });
  const now = () => stepAt(steps, rawOf(grip.control, valueOf(grip, reach)));
  const inner = h('div', { className: 'inner' });
  let shown = /** @type {import('../state/sheet.js').Step | undefined} */ (undefined);
  let fader = /** @type {{node: FcFader, update: () => void} | null} */ (null);
  const update = () => {
    const step = now();
    steps.forEach((one, at) => {
      const chip = chips[at];
      if (chip instanceof FcHold) chip.pressed = one === step;
      else if (chip) mark(chip, 'aria-pressed', String(one === step));
      mark(/** @type {HTMLElement} */ (chip), 'hidden', isOpen(one.fn, reach.mode, reach.value) ? null : '');
    });
    if (step !== shown) {
      shown = step;
      const span = /** @type {[number, number]} */ (step?.dmx.map((raw) => fractionOf(grip.control, raw)) ?? [0, 1]);
      // Inside a strobe the press-and-hold was given when it was entered.
      fader = step?.varies ? column({ ...grip, label: step.label, fn: step.fn }, reach, { span: () => span, held: step.strobe }) : null;
      inner.replaceChildren(...(fader ? [fader.node] : []));
      inner.hidden = !fader;
    }
    fader?.update();
    mark(node, 'data-drive', reach.drive(grip));
  };
  const node = h('div', { className: 'steps' }, h('div', { className: 'chips', role: 'group', 'aria-label': grip.label }, ...chips), inner);
  return { node, update };
}

/** What the held button says for each kind of action. @type {Record<string, string>} */
const ACTS = { reset: 'Recalibrate (moves)', lamp_on: 'Strike the lamp', lamp_off: 'Put the lamp out' };

/** @param {import('../state/sheet.js').Acts} pane @param {Reach} reach @returns {Made} */
function actsPane({ acts }, reach) {
  const buttons = acts.map(({ control, fn }) => {
    const name = fn.name ?? fn.attribute;
    const label = (fn.action && ACTS[fn.action.kind]) ?? name;
    const node = holdButton(label, fn.action?.words ?? '', () => void act(label, control.key, name));
    node.disabled = !!control.guarded;
    return control.guarded ? h('div', null, node, h('p', { className: 'caution' }, guardWords(control.guarded.reason))) : node;
  });
  /** @param {string} label @param {string} control @param {string} name */
  const act = async (label, control, name) => {
    const it = fixture(reach.id);
    if (it.holder && it.holder !== rig.you.value.id && !reach.grab([], label)) return;
    const answer = await command({ do: 'act', fixture: reach.id, control, function: name, held: true });
    if (answer.is === 'ok') say(`${label}: asked of ${it.channel}. Watch the unit; this page cannot see whether it obeys.`);
  };
  return { node: h('div', { className: 'acts' }, ...buttons), update: () => {} };
}
