// @ts-check
/** A pane about the unit itself: hands on it, and what is wrong with it. */
import { h, mark, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { command } from '../state/asked.js';
import { nameOf, rig } from '../state/rig.js';
import { onFinding } from '../words/finding.js';
import { late } from '../words/late.js';
import { upButtons } from './aloft.js';
import { outOfUse } from './pane-out.js';
import { pastOf } from './pane-past.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('./pane-faders.js').Made} Made */

const WORDS = late.unit;
const LONGEST = 200; // characters: as the server has it

/** Nothing here comes and goes by a press: a glove's second press must not land on something else. @param {Reach} reach @returns {Made} */
export function unitPane(reach) {
  return { node: h('div', { className: 'unit' }, hands(reach), upButtons(() => reach.cell.value.position, reach.signal), fault(reach), outOfUse(reach), h('a', { className: 'button', href: `#switches/${encodeURIComponent(reach.id)}` }, WORDS.switches), pastOf(reach)), update: () => {} };
}

/** @param {Reach} reach */
function hands({ id, cell, mode, signal }) {
  const moves = mode.controls.some(({ attribute }) => /^(Pan|Tilt|XYZ_)/.test(attribute));
  const acts = mode.controls.some((control) => control.functions.some((fn) => fn.action));
  const what = moves && acts ? WORDS.both : moves ? WORDS.motion : acts ? WORDS.actions : '';
  const [label, words] = [h('b', null), h('span', null)];
  const button = h('button', { type: 'button', className: 'hands' }, label, words);
  button.addEventListener('click', once(() => void command({ do: 'hands_on', fixture: id, on: !cell.value.hands_on.includes(rig.you.value.id) })));
  const lead = holdButton('', '', () => void command({ do: 'hands_on', fixture: id, on: false }));
  const caution = h('p', { className: 'caution' }, WORDS.caution);
  cell.read((it) => {
    const mine = it.hands_on.includes(rig.you.value.id);
    const others = it.hands_on.filter((who) => who !== rig.you.value.id).map(nameOf);
    const name = others.join(', ');
    write(label, mine ? WORDS.handsOff : WORDS.handsOn);
    write(words, !what ? WORDS.nothing : it.hands_on.length ? (name ? `${WORDS.others(name)}. ${WORDS.frozen(what)}` : WORDS.frozen(what)) : WORDS.freezes(what));
    mark(button, 'aria-pressed', String(mine));
    lead.hidden = !name || rig.you.value.role !== 'lead';
    lead.setAttribute('label', WORDS.takeOff(name));
    lead.setAttribute('words', WORDS.askFirst(name));
  }, signal);
  return h('section', { 'aria-label': WORDS.handsOn }, button, lead, caution);
}

/** @param {Reach} reach */
function fault({ id, cell, mode, undo, signal }) {
  const say = async (/** @type {string | null} */ words) => {
    const before = cell.value.fault;
    if (words === before) return;
    const answer = await command({ do: 'fault', fixture: id, words });
    if (answer.is === 'ok') undo(WORDS.undoFault, () => void command({ do: 'fault', fixture: id, words: before }));
  };
  const moves = mode.controls.some(({ attribute }) => /^(Pan|Tilt)/.test(attribute));
  const chips = [...WORDS.reasons, ...(moves ? WORDS.moving : [])].map((words) => h('button', { type: 'button', onclick: once(() => void say(words)) }, words));
  const works = h('button', { type: 'button', className: 'works', onclick: once(() => void say(null)) }, WORDS.works);
  const field = h('input', { type: 'text', maxLength: LONGEST, placeholder: WORDS.own, 'aria-label': WORDS.own, autocomplete: 'off', enterKeyHint: 'done' });
  const form = h('form', { className: 'find' }, field, h('button', { type: 'submit' }, WORDS.write));
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    const words = field.value.trim();
    if (words) void say(words);
    field.value = '';
    field.blur();
  });
  cell.read((it) => {
    for (const chip of chips) mark(chip, 'aria-pressed', String(chip.textContent === it.fault));
    works.disabled = it.fault === null;
  }, signal);
  return h('section', { 'aria-label': WORDS.fault }, h('h2', null, WORDS.fault), h('div', { className: 'chips' }, ...chips), form, works, h('a', { className: 'button', href: `#faults/${id}` }, onFinding.faults.history));
}
