// @ts-check
/** Saying that one works at height, and where; and, for the lead, that somebody is down. */
import { h, mark, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { command } from '../state/asked.js';
import { fixture, mine, rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';

const WORDS = late.care;
const LONGEST = 60; // characters: as the server has it

const goUp = (/** @type {string} */ position) => void command({ do: 'aloft', position });

/**
 * One tap to go up where somebody is, one more for anywhere else.
 * @param {() => string} likely where that is, "" where nobody knows @param {AbortSignal} signal
 */
export function upButtons(likely, signal) {
  const [label, about] = [h('b', null), h('span', null, WORDS.told)];
  const here = h('button', { type: 'button', className: 'here' }, label, about);
  here.addEventListener('click', once(() => {
    const position = likely();
    if (position && position === rig.people.value[rig.you.value.id]?.aloft) void command({ do: 'aloft', position: null });
    else if (position) goUp(position);
    else askWhere('');
  }));
  const other = h('button', { type: 'button', onclick: () => askWhere(likely()) }, WORDS.elsewhere);
  const draw = () => {
    const position = likely();
    const at = rig.people.value[rig.you.value.id]?.aloft ?? null;
    const isHere = position !== '' && at === position;
    write(label, isHere ? WORDS.downFrom(position) : position ? WORDS.upAt(position) : WORDS.up);
    mark(here, 'aria-pressed', String(isHere));
    other.hidden = !position;
  };
  for (const cell of [rig.people, rig.holds, rig.list, rig.you]) cell.read(draw, signal);
  return h('section', { className: 'going-up', 'aria-label': WORDS.up }, here, other);
}

/** @returns {string} where the fixture in this phone's hand hangs, else the last one it took; else where that person is aloft */
export function placeInHand() {
  const me = rig.people.value[rig.you.value.id];
  const [id = me?.at ?? ''] = mine();
  return rig.fixtures.get(id)?.value.position ?? me?.aloft ?? '';
}

/** @param {string} first offered before the others */
function askWhere(first) {
  const places = [...new Set([first, ...rig.list.value.map((id) => fixture(id).position)])].filter(Boolean);
  const go = (/** @type {string} */ position) => {
    dialog.close();
    goUp(position);
  };
  const chips = places.map((place) => h('button', { type: 'button', onclick: () => go(place) }, place));
  const field = h('input', { type: 'text', maxLength: LONGEST, placeholder: WORDS.own, 'aria-label': WORDS.own, autocomplete: 'off', enterKeyHint: 'done' });
  const form = h('form', null, h('h2', null, WORDS.where), h('div', { className: 'choice' }, ...chips), field,
    h('div', { className: 'ends' }, h('button', { type: 'button', onclick: () => dialog.close() }, words.keypad.notNow), h('button', { type: 'submit', className: 'main' }, WORDS.up)));
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    if (field.value.trim()) go(field.value.trim());
    else field.focus();
  });
  const dialog = h('dialog', { className: 'where', 'aria-label': WORDS.where }, form);
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

/** For the lead: somebody is down who forgot to say so. @param {() => string} of whose mark */
export function downButton(of) {
  const node = holdButton('', '', () => void command({ do: 'aloft', position: null, of: of() }));
  /** @param {import('../net/contract.js').Person | undefined} person @param {boolean} me */
  const draw = (person, me) => {
    node.hidden = me || person?.aloft == null || rig.you.value.role !== 'lead';
    if (node.hidden || !person) return;
    node.setAttribute('label', WORDS.isDown(person.name));
    node.setAttribute('words', WORDS.isDownWords(person.name));
  };
  return { node, draw };
}
