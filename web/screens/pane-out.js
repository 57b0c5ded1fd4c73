// @ts-check
/** Taking a unit out of use, so that nobody drives it, and back again. */
import { h, mark, once, write } from '../elements/dom.js';
import { command } from '../state/asked.js';
import { nameOf, rig } from '../state/rig.js';
import { late } from '../words/late.js';

/** @typedef {import('./fixture.js').Reach} Reach */

const WORDS = late.out;
const LONGEST = 100; // characters: as the server has it

/** @param {Reach} reach */
export function outOfUse({ id, cell, signal }) {
  const say = (/** @type {string | null} */ reason) => void command({ do: 'out_of_use', fixture: id, reason });
  const chips = WORDS.reasons.map((reason) => h('button', { type: 'button', onclick: once(() => say(reason)) }, reason));
  const field = h('input', { type: 'text', maxLength: LONGEST, placeholder: WORDS.own, 'aria-label': WORDS.own, autocomplete: 'off', enterKeyHint: 'done' });
  const form = h('form', { className: 'find' }, field, h('button', { type: 'submit' }, WORDS.take));
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    if (field.value.trim()) say(field.value.trim());
    field.value = '';
    field.blur();
  });
  const back = h('button', { type: 'button', className: 'works', onclick: once(() => say(null)) }, WORDS.back);
  const state = h('p', { className: 'caution' });
  cell.read((it) => {
    const out = it.out_of_use;
    write(state, out ? WORDS.is(out.reason, nameOf(out.by)) : WORDS.about);
    for (const chip of chips) mark(chip, 'aria-pressed', String(chip.textContent === out?.reason));
    back.disabled = !out || (out.by !== rig.you.value.id && rig.you.value.role !== 'lead');
  }, signal);
  return h('section', { 'aria-label': WORDS.title }, h('h2', null, WORDS.title), state, h('div', { className: 'chips' }, ...chips), form, back);
}
