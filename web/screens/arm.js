// @ts-check
/** Arming: the lead says what for and how long; everybody sees what is left of it. */
import { h, mark, once, styled, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { command } from '../state/asked.js';
import { namesOf, rig } from '../state/rig.js';
import { clock, secondsTo } from '../state/values.js';
import { late } from '../words/late.js';

/** @typedef {import('./fixture.js').Reach} Reach */

await styled('screens/arm');

const WORDS = late.guard;
const SECONDS = [30, 60, 120, 300];
const LONGEST = 100; // characters: as the server has it
const EACH_MS = 250;

/** @param {import('../net/contract.js').Fixture} it @returns {boolean} armed, as this phone's clock has it */
export const isArmed = (it) => !!it.armed && secondsTo(it.armed.ends) > 0;

/**
 * @param {Reach} reach
 * @param {string} kind why it is guarded
 * @param {() => void} changed what else depends on it
 */
export function armSection({ id, cell, signal }, kind, changed) {
  let seconds = 60;
  const reasons = WORDS.reasons[kind] ?? WORDS.reasons.other ?? [];
  let reason = reasons[0] ?? '';
  const field = h('input', { type: 'text', maxLength: LONGEST, placeholder: WORDS.own, 'aria-label': WORDS.own, autocomplete: 'off', enterKeyHint: 'done' });
  field.addEventListener('input', () => drawForm());
  const said = () => field.value.trim() || reason;
  const chips = reasons.map((words) => h('button', { type: 'button', onclick: () => ((reason = words), (field.value = ''), drawForm()) }, words));
  const times = SECONDS.map((some) => h('button', { type: 'button', onclick: () => ((seconds = some), drawForm()) }, WORDS.seconds(some)));
  const arm = holdButton('', '', () => void command({ do: 'arm', fixture: id, reason: said(), seconds }));
  const drawForm = () => {
    chips.forEach((chip) => mark(chip, 'aria-pressed', String(chip.textContent === said())));
    times.forEach((one, at) => mark(one, 'aria-pressed', String(SECONDS[at] === seconds)));
    arm.setAttribute('label', WORDS.arm(seconds));
    arm.setAttribute('words', WORDS.armWords(said()));
  };
  drawForm();
  const form = h('div', { className: 'arm' }, h('div', { className: 'choice', role: 'group', 'aria-label': WORDS.why }, ...chips), field, h('div', { className: 'choice fineness', role: 'group', 'aria-label': WORDS.howLong }, ...times), arm);
  const left = h('b', { className: 'left', 'aria-hidden': 'true' });
  const state = h('p', { role: 'status' });
  const end = h('button', { type: 'button', onclick: once(() => void command({ do: 'arm', fixture: id, reason: null })) }, WORDS.disarm);
  const line = h('div', { className: 'armed-line' }, left, state, end);
  const draw = () => {
    const it = cell.value;
    const lead = rig.you.value.role === 'lead';
    const on = isArmed(it);
    form.hidden = !lead || on;
    end.hidden = !lead || !on;
    left.hidden = !on;
    mark(line, 'data-armed', on);
    write(left, it.armed ? clock(secondsTo(it.armed.ends)) : '');
    write(state, it.armed && on ? WORDS.armedBy(namesOf([it.armed.by]), it.armed.reason) : lead ? WORDS.notArmed : WORDS.askLead);
    changed();
  };
  cell.read(draw, signal);
  rig.you.read(draw, signal);
  const timer = setInterval(draw, EACH_MS);
  signal.addEventListener('abort', () => clearInterval(timer));
  return h('section', { className: 'arming', 'aria-label': WORDS.arming }, line, form);
}
