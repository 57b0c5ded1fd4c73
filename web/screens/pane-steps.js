// @ts-check
/** A pane of steps: wheels, shutters and other controls that have named places. */
import { h, mark } from '../elements/dom.js';
import { FcHold, holdButton } from '../elements/fc-hold.js';
import { cssOf } from '../state/colour.js';
import { isKnown, isLifted, slowEnough } from '../state/flashing.js';
import { stepAt, stepsOf } from '../state/sheet.js';
import { fractionOf, hasUnit, isOpen, rawOf, valueText } from '../state/values.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { liftSection } from './lift.js';
import { column, same, valueOf } from './pane-faders.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../state/sheet.js').Step} Step */
/** @typedef {import('./pane-faders.js').Made} Made */

/** @param {import('../state/sheet.js').Steps} pane @param {Reach} reach @returns {Made} */
export function stepsPane({ grip, beside }, reach) {
  const steps = stepsOf(grip.control);
  const wheel = (/** @type {Step} */ step) => step.fn.wheel ? /** @type {any} */ (reach.profile?.wheels?.[step.fn.wheel]?.[(step.slot ?? 0) - 1])?.xyY : null;
  /** By step, and whether it is lifted: a wide control has many values to look at. @type {Map<string, ReturnType<typeof slowEnough>>} */
  const known = new Map();
  const slow = (/** @type {Step} */ step) => {
    const lifted = reach.single && isLifted(reach.id);
    const name = `${steps.indexOf(step)} ${lifted}`;
    if (!known.has(name)) known.set(name, slowEnough(step, lifted));
    return known.get(name) ?? null;
  };
  const press = (/** @type {Step} */ step) => reach.change(grip.keys, grip.label, same(grip.keys, fractionOf(grip.control, (step.strobe ? slow(step)?.start : null) ?? step.raw)), step.strobe);
  const chips = steps.map((step) => {
    const ends = step.varies && hasUnit(step.fn) ? step.dmx.map((raw) => valueText(grip.control, step.fn, fractionOf(grip.control, raw)).short).join(words.faders.fromTo('', '')) : '';
    if (step.strobe) {
      const hold = holdButton(`${step.label} ${ends}`, late.steps.seizures, () => press(step));
      hold.disabled = grip.locked !== null;
      return hold;
    }
    const colour = wheel(step);
    const swatch = colour ? h('i', { className: 'swatch' }) : null;
    if (swatch) swatch.style.background = cssOf(colour);
    return h('button', { type: 'button', className: ends ? 'wide' : '', disabled: grip.locked !== null, onclick: () => press(step) }, swatch, h('span', null, step.label, ends ? h('small', null, ends) : null));
  });
  const isThere = (/** @type {Step} */ step) => isOpen(step.fn, reach.mode, reach.value);
  // Where another control says what this one does, spans lie over each other: only those at work count.
  const now = () => stepAt(steps.filter(isThere), rawOf(grip.control, valueOf(grip, reach)));
  const besides = beside.map((one) => column(one, reach));
  const inner = h('div', { className: 'inner' });
  let shown = /** @type {Step | undefined | null} */ (null);
  let fader = /** @type {Made | null} */ (null);
  /** @param {Step} step @param {[number, number]} span @returns {[number, number]} */
  const limitsOf = (step, span) => {
    const within = slow(step);
    return within ? [fractionOf(grip.control, within.from), fractionOf(grip.control, within.to)] : [span[0], span[0]];
  };
  /** A thumb gets three quarters of the column for what is within reach, and sees that there is more. @param {Step} step @param {[number, number]} span @returns {[number, number]} */
  const aroundLimits = (step, span) => {
    const [from, to] = limitsOf(step, span);
    const more = (to - from) / 3;
    return [Math.max(span[0], from - more), Math.min(span[1], to + more)];
  };
  const update = () => {
    const step = now();
    steps.forEach((one, at) => {
      const chip = chips[at];
      if (chip instanceof FcHold) {
        const within = slow(one);
        chip.pressed = one === step;
        chip.disabled = grip.locked !== null || !within;
        chip.setAttribute('words', within ? late.steps.seizures : isKnown(one) ? late.steps.tooFast : late.steps.unknown);
      }
      else if (chip) mark(chip, 'aria-pressed', String(one === step));
      mark(/** @type {HTMLElement} */ (chip), 'hidden', isThere(one) ? null : '');
    });
    if (step !== shown) {
      shown = step;
      const span = /** @type {[number, number]} */ (step?.dmx.map((raw) => fractionOf(grip.control, raw)) ?? [0, 1]);
      // Inside a strobe the press-and-hold was given when it was entered.
      fader = step?.varies ? column({ ...grip, label: step.label, fn: step.fn }, reach, step.strobe ? { span: () => aroundLimits(step, span), held: true, limits: () => limitsOf(step, span) } : { span: () => span }) : null;
      inner.replaceChildren(...(fader ? [fader.node] : []), ...besides.map((one) => one.node));
      inner.hidden = !inner.childElementCount;
    }
    fader?.update();
    for (const one of besides) one.update();
    mark(node, 'data-drive', reach.drive(grip));
  };
  const node = h('div', { className: 'steps' }, h('div', { className: 'chips', role: 'group', 'aria-label': grip.label }, ...chips), inner);
  if (!steps.some(({ strobe }) => strobe)) return { node, update };
  return { node: h('div', { className: 'stack flashing' }, node, liftSection(reach, update)), update };
}
