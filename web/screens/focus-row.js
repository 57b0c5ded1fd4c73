// @ts-check
/** What can be done with one unit of the focus list: bring it up, mark it, move it, give it to somebody. */
import { h, mark, once, write } from '../elements/dom.js';
import { askNumber } from '../elements/keypad.js';
import { command } from '../state/asked.js';
import { fixture, fixtureOfChannel, nameOf, rig } from '../state/rig.js';
import { everybody, focusList, markOf, whoAt } from '../state/turn.js';
import { spoken } from '../words/call.js';
import { words } from '../words/words.js';
import { putOrder } from './focus-list.js';
import { askNote, asFocused, noteLines } from './focus-note.js';
import { step } from './hand-row.js';

const WORDS = spoken.focus;
const MARKS = /** @type {const} */ (['todo', 'done', 'back']);

/** @param {string} id */
export function askRow(id) {
  if (!rig.fixtures.has(id)) return;
  const it = fixture(id);
  const end = new AbortController();
  const lead = rig.you.value.role === 'lead';
  const close = () => dialog.close();
  const then = (/** @type {() => unknown} */ press) => once(() => (close(), void press()));
  const light = (/** @type {string} */ person) => step({ do: 'focus_at', fixture: id, ...(person === rig.you.value.id ? {} : { of: person }) });
  const up = h('button', { type: 'button', className: 'main', onclick: then(() => light(rig.you.value.id)) }, WORDS.bringUp(it.channel));
  const others = lead ? everybody().filter((person) => person !== rig.you.value.id) : [];
  const forOthers = h('div', { className: 'choice' }, ...others.map((person) => h('button', { type: 'button', onclick: then(() => light(person)) }, WORDS.bringUpFor(nameOf(person)))));
  const marks = MARKS.map((how) => h('button', { type: 'button', onclick: once(() => void command({ do: 'focus_mark', fixture: id, mark: how })) }, WORDS.marks[how]));
  const state = h('section', { 'aria-label': WORDS.how }, h('h2', null, WORDS.how), h('div', { className: 'choice' }, ...marks));
  const dialog = h('dialog', { className: 'call-unit', 'aria-label': WORDS.unit(it.channel) },
    h('h2', { className: 'head' }, h('b', null, String(it.channel ?? '\u2013')), ' ', h('span', null, words.fixture.place(it.position, it.unit), h('small', null, it.purpose || words.fixture.noPurpose))),
    up, others.length > 0 && forOthers, noteLines(() => id, end.signal).node, h('button', { type: 'button', onclick: then(() => askNote(id)) }, spoken.note.write), state, asFocused(id, end.signal), lead && given(id, end.signal), lead && moving(id, close, end.signal),
    h('div', { className: 'ends' }, h('a', { className: 'button', href: `#fixture/${id}`, onclick: close }, WORDS.sheet), h('button', { type: 'button', onclick: close }, words.keypad.notNow)));
  rig.fixtures.get(id)?.read(() => marks.forEach((button, at) => mark(button, 'aria-pressed', String(MARKS[at] === markOf(id)))), end.signal);
  rig.now.read(() => (up.disabled = whoAt(id).includes(rig.you.value.id)), end.signal);
  dialog.addEventListener('close', () => (end.abort(), dialog.remove()));
  document.body.append(dialog);
  dialog.showModal();
}

/** @param {string} id @param {AbortSignal} signal */
function given(id, signal) {
  const { position } = fixture(id);
  let all = false;
  const which = () => (all ? focusList().filter((one) => fixture(one).position === position) : [id]);
  const whole = h('button', { type: 'button', className: 'with-light', role: 'switch', 'aria-checked': 'false', onclick: () => mark(whole, 'aria-checked', String((all = !all))) }, WORDS.allOf(position));
  const people = [null, ...everybody()];
  const chips = people.map((person) => h('button', { type: 'button', onclick: once(() => void command({ do: 'focus_give', fixtures: which(), to: person })) }, person === null ? WORDS.anybody : person === rig.you.value.id ? WORDS.me : nameOf(person)));
  rig.fixtures.get(id)?.read((it) => chips.forEach((chip, at) => mark(chip, 'aria-pressed', String(people[at] === (it.focus?.given ?? null)))), signal);
  return h('section', { 'aria-label': WORDS.give }, h('h2', null, WORDS.give), h('div', { className: 'choice' }, ...chips), whole);
}

/** By buttons what the handle does by dragging. @param {string} id @param {() => void} close @param {AbortSignal} signal */
function moving(id, close, signal) {
  const where = h('p', { className: 'count', role: 'status' });
  const by = (/** @type {(order: string[], at: number) => number} */ to) => () => {
    const order = focusList();
    const at = order.indexOf(id);
    const rest = order.filter((one) => one !== id);
    rest.splice(Math.max(0, Math.min(rest.length, to(order, at))), 0, id);
    void putOrder(rest);
  };
  const button = (/** @type {string} */ label, /** @type {() => void} */ press) => h('button', { type: 'button', onclick: press }, label);
  const insert = async () => {
    const read = (/** @type {number} */ channel) => (fixtureOfChannel(channel) ? channel : words.list.noChannel(channel));
    const channel = await askNumber(WORDS.insertBefore(fixture(id).channel), [{ name: words.list.channel, start: words.list.channel, read }], WORDS.insert);
    const one = channel === null ? undefined : fixtureOfChannel(channel);
    if (!one) return;
    const rest = focusList().filter((other) => other !== one);
    rest.splice(rest.indexOf(id), 0, one);
    void putOrder(rest);
  };
  const [up, down] = [button(WORDS.up, by((_, at) => at - 1)), button(WORDS.down, by((_, at) => at + 1))];
  const [top, bottom] = [button(WORDS.top, by(() => 0)), button(WORDS.bottom, by((order) => order.length))];
  rig.order.read(() => {
    const order = focusList();
    const at = order.indexOf(id);
    if (at < 0) return close();
    write(where, WORDS.place(at + 1, order.length));
    up.disabled = top.disabled = at === 0;
    down.disabled = bottom.disabled = at === order.length - 1;
  }, signal);
  return h('section', { 'aria-label': WORDS.move }, h('h2', null, WORDS.move), where, h('div', { className: 'choice' }, up, down, top, bottom),
    h('div', { className: 'choice' }, button(WORDS.insertHere, () => void insert()), button(WORDS.takeOff, once(() => void putOrder(focusList().filter((one) => one !== id))))));
}
