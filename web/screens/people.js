// @ts-check
/** Who is here and what they hold; and for the lead, what to do about it: names, phones, lights, PINs. */
import { h, mark, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { keep } from '../state/prefs.js';
import { fixture, rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { onShow } from '../words/show.js';
import { said } from '../words/words.js';
import { downButton } from './aloft.js';

const WORDS = onShow.people;
const FEW = 6; // channels named; of more, the first ones

/** @typedef {import('../net/contract.js').Person} Person */

/** @returns {Map<string, string[]>} ids of fixtures in hand, by person */
function holding() {
  /** @type {Map<string, string[]>} */
  const holds = new Map();
  for (const id of rig.list.value) {
    const { holder } = fixture(id);
    if (holder) holds.set(holder, [...(holds.get(holder) ?? []), id]);
  }
  return holds;
}

/** @param {string} id a person @returns {boolean} whether this phone may call them otherwise */
export const mayChange = (id) => rig.you.value.role === 'lead' || id === rig.you.value.id;

/** @param {AbortSignal} signal */
export function makePeople(signal) {
  const list = h('ul', { className: 'people' });
  /** @type {Map<string, ReturnType<typeof makeRow>>} */
  const made = new Map();
  const draw = () => {
    const holds = holding();
    const shown = Object.entries(rig.people.value).filter(([id, person]) => person.here || holds.has(id) || person.aloft != null);
    shown.sort(([, a], [, b]) => Number(b.here) - Number(a.here) || a.name.localeCompare(b.name));
    for (const [id, { node }] of made) {
      if (shown.some(([one]) => one === id)) continue;
      node.remove();
      made.delete(id);
    }
    shown.forEach(([id, person], at) => {
      const row = made.get(id) ?? makeRow(id);
      made.set(id, row);
      row.draw(person, holds.get(id) ?? []);
      if (list.children[at] !== row.node) list.insertBefore(row.node, list.children[at] ?? null);
    });
  };
  for (const cell of [rig.people, rig.holds, rig.you]) cell.read(draw, signal);
  return h('section', { 'aria-labelledby': 'people' }, h('h2', { id: 'people' }, late.rig.here), list);
}

/** @param {string} id */
function makeRow(id) {
  const [name, about] = [h('b', null), h('small', null)];
  const aloft = h('b', { className: 'aloft-mark' });
  const button = h('button', { type: 'button', onclick: () => askPerson(id) }, name, about, aloft);
  const down = downButton(() => id);
  const node = h('li', null, h('i', { className: 'swatch' }), button, down.node);
  return {
    node,
    /** @param {Person} person @param {string[]} held */
    draw(person, held) {
      const me = id === rig.you.value.id;
      const channels = held.map((one) => fixture(one).channel).sort((a, b) => a - b);
      const has = channels.length ? late.rig.has(channels.slice(0, FEW).join(', ') + (channels.length > FEW ? ' \u2026' : '')) : late.rig.hasNothing;
      mark(node, 'data-drive', me ? 'hand' : held.length ? 'other' : 'home');
      write(name, me ? late.rig.you(person.name) : person.name);
      write(about, `${late.rig.roles[person.role] ?? person.role} · ${person.here ? late.rig.isHere : late.rig.away} · ${has}`);
      aloft.hidden = person.aloft == null;
      write(aloft, person.aloft == null ? '' : late.care.at(person.aloft));
      down.draw(person, me);
      button.disabled = !mayChange(id);
    },
  };
}

/** A sheet with what can be done about somebody. @param {string} id */
export function askPerson(id) {
  const person = rig.people.value[id];
  if (!person || !mayChange(id) || document.querySelector('dialog[open]')) return;
  const me = id === rig.you.value.id;
  const lead = rig.you.value.role === 'lead' && !me;
  const ending = new AbortController();
  const why = h('p', { className: 'why', role: 'alert' });
  const name = h('input', { id: 'called', value: person.name, autocomplete: 'off', maxLength: 30, enterKeyHint: 'done' });
  const form = h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    tried(call('PATCH', `/api/people/${id}`, { name: name.value }).then(({ person: now }) => me && keep('name', now.name)));
  } }, h('label', { for: 'called' }, WORDS.called), h('div', { className: 'entry' }, name, h('button', { type: 'submit', className: 'main' }, WORDS.rename)));
  const letGo = holdButton('', WORDS.letGoWords, () => void command({ do: 'let_go', fixture: '*', of: id }, true).then((told) => told.is === 'refused' && write(why, said(told))));
  const remove = holdButton(WORDS.remove(person.name), WORDS.removeWords, () => tried(call('DELETE', `/api/people/${id}`)));
  const dialog = h('dialog', { className: 'person', 'aria-label': person.name },
    h('h2', null, person.name), form, why, lead && letGo, lead && remove,
    h('button', { type: 'button', onclick: () => dialog.close() }, WORDS.done));
  /** @param {Promise<unknown>} doing closes the sheet once it is done, and says why it is not */
  const tried = (doing) => void doing.then(() => dialog.close(), (/** @type {Error} */ error) => write(why, error.message));
  const draw = () => {
    const held = (holding().get(id) ?? []).length;
    letGo.setAttribute('label', held ? WORDS.letGo(held) : WORDS.holdsNothing);
    letGo.disabled = !held;
  };
  rig.holds.read(draw, ending.signal);
  open(dialog, ending);
}

/** Everybody's PINs, for the lead. */
export function makePins() {
  const buttons = ['lead', 'crew', 'house'].map((role) => h('button', { type: 'button', onclick: () => askPin(role) }, WORDS.newPin(late.rig.roles[role] ?? role)));
  return h('section', { 'aria-labelledby': 'pins' }, h('h2', { id: 'pins' }, WORDS.pins), h('div', { className: 'choice' }, ...buttons), h('p', { className: 'hint' }, WORDS.stay));
}

/** @param {string} role */
function askPin(role) {
  const title = WORDS.newPin(late.rig.roles[role] ?? role);
  const why = h('p', { className: 'why', role: 'alert' });
  const pin = h('input', { id: 'new-pin', inputMode: 'numeric', autocomplete: 'off', maxLength: 8, enterKeyHint: 'done' });
  const form = h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    call('PUT', `/api/pins/${role}`, { pin: pin.value }).then(({ given }) => {
      dialog.close();
      say(given ? WORDS.setUntil : WORDS.set);
    }, (/** @type {Error} */ error) => write(why, error.message));
  } }, h('label', { for: 'new-pin' }, WORDS.digits), pin, why,
  h('p', { className: 'hint' }, WORDS.stay),
  h('div', { className: 'ends' }, h('button', { type: 'button', onclick: () => dialog.close() }, WORDS.notNow), h('button', { type: 'submit', className: 'main' }, WORDS.setIt)));
  const dialog = h('dialog', { className: 'person', 'aria-label': title }, h('h2', null, title), form);
  open(dialog, new AbortController());
}

/** @param {HTMLDialogElement} dialog @param {AbortController} ending ends with it */
function open(dialog, ending) {
  const close = () => dialog.close();
  rig.link.read((link) => link === 'join' && close(), ending.signal);
  dialog.addEventListener('close', () => {
    ending.abort();
    dialog.remove();
  });
  document.body.append(dialog);
  dialog.showModal();
}
