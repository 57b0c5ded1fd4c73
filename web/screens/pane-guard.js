// @ts-check
/** A pane for what runs only while it is armed, and then for as long as a button is held. */
import { h, mark } from '../elements/dom.js';
import { FcRun } from '../elements/fc-run.js';
import { command } from '../state/asked.js';
import { fractionOf, maxOf } from '../state/values.js';
import { wordsOf } from '../state/words.js';
import { late } from '../words/late.js';
import { number } from '../words/words.js';
import { armSection, isArmed } from './arm.js';
import { running } from './care.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../net/contract.js').Control} Control */
/** A control with the level it runs at, chosen before. @typedef {{label: string, key: string, level: () => number, node: HTMLElement | null}} Part */

const WORDS = late.guard;
const LEVELS = [1, 0.75, 0.5, 0.25];

/** @param {import('./fixture.js').Guard} pane @param {Reach} reach @returns {import('./pane-faders.js').Made} */
export function guardPane({ runs, guard }, reach) {
  const kind = guard ?? runs.find((one) => one.guarded)?.guarded?.reason ?? 'other';
  const parts = runs.map(makePart);
  const buttons = parts.map((part) => makeRun([part], reach));
  // One press runs one thing; what belongs together, as haze and its fan, has a press for both.
  if (parts.length > 1 && runs.every((one) => one.cell == null)) buttons.unshift(makeRun(parts, reach));
  const update = () => {
    const it = reach.cell.value;
    const off = !isArmed(it) || it.hands_on.length > 0;
    for (const run of buttons) {
      run.disabled = off;
      run.setAttribute('words', off ? WORDS.notNow : WORDS.whileHeld);
    }
  };
  const caution = h('p', { className: 'caution' }, WORDS.before[kind] ?? WORDS.before.other ?? '');
  const levels = parts.map((part) => part.node && h('div', { className: 'level' }, h('b', null, part.label), part.node));
  const node = h('div', { className: 'guard' }, armSection(reach, kind, update), h('section', { className: 'run', 'aria-label': WORDS.run }, ...levels, ...buttons), caution);
  return { node, update };
}

/** @param {Control} control @returns {Part} */
function makePart(control) {
  const fn = control.functions.find((one) => !one.action && !one.attribute.startsWith('NoFeature'));
  const name = wordsOf(control.attribute, fn?.name);
  const label = control.cell == null ? name : `${fn?.name ?? name} ${control.cell.replace(/^Cell /i, '')}`;
  const on = fn?.ranges?.at(-1);
  if (fn && on && (fn.ranges?.length ?? 0) > 1 && on.dmx[1] === fn.dmx[1]) {
    const raw = Math.floor((on.dmx[0] + on.dmx[1]) / 2); // a switch: on
    return { label, key: control.key, level: () => fractionOf(control, raw), node: null };
  }
  let share = 1;
  const [low, high] = fn?.dmx ?? [0, maxOf(control)];
  const chips = LEVELS.map((one) => h('button', { type: 'button', onclick: () => ((share = one), draw()) }, `${number(one * 100)}\u202f%`));
  const draw = () => chips.forEach((chip, at) => mark(chip, 'aria-pressed', String(LEVELS[at] === share)));
  draw();
  const node = h('div', { className: 'choice fineness', role: 'group', 'aria-label': WORDS.level(label) }, ...chips);
  return { label, key: control.key, level: () => fractionOf(control, Math.round(low + share * (high - low))), node };
}

/** @param {Part[]} parts @param {Reach} reach */
function makeRun(parts, { id, signal }) {
  const run = new FcRun();
  run.setAttribute('label', parts.map(({ label }) => label).join(WORDS.and));
  run.addEventListener('fc-run', (event) => void ask(/** @type {CustomEvent<{on: boolean, press: number}>} */ (event).detail));
  /** @param {{on: boolean, press: number}} held */
  const ask = async ({ on, press }) => {
    if (on) running.add(id);
    else running.delete(id);
    const answer = await command({ do: 'run', fixture: id, values: Object.fromEntries(parts.map(({ key, level }) => [key, level()])), press, on }, !on);
    if (answer.is === 'refused' && on) run.stop();
  };
  signal.addEventListener('abort', () => run.stop());
  return run;
}
