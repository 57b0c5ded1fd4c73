// @ts-check
/** The lead makes the focus list, in one press or piece by piece, and sets how the call goes. */
import { h, mark, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { fixture, rig } from '../state/rig.js';
import { focusList, markOf } from '../state/turn.js';
import { spoken } from '../words/call.js';
import { number, words } from '../words/words.js';
import { putOrder } from './focus-list.js';

const WORDS = spoken.focus;

/** Not what is guarded, nor the light to work by: nobody focuses those in a call. @param {string} id */
const isFocused = (id) => !fixture(id).guarded && !fixture(id).work_light;

/** @param {string[]} held what the lead has in hand */
export function askList(held) {
  const end = new AbortController();
  const where = h('p', { className: 'count', role: 'status' });
  const add = (/** @type {string[]} */ ids) => void putOrder([...focusList(), ...ids.filter((id) => !focusList().includes(id))]);
  const rigged = rig.list.value.filter(isFocused);
  const positions = [...new Set(rigged.map((id) => fixture(id).position))];
  const chips = positions.map((position) => {
    const there = rigged.filter((id) => fixture(id).position === position);
    return { there, position, chip: h('button', { type: 'button', onclick: () => add(there) }) };
  });
  const stars = h('button', { type: 'button', onclick: () => add(held) }, WORDS.addHeld(held.length));
  stars.disabled = !held.length;
  const done = h('button', { type: 'button', onclick: () => void putOrder(focusList().filter((id) => markOf(id) !== 'done')) }, WORDS.dropDone);
  const draw = () => {
    const order = focusList();
    write(where, WORDS.onList(order.length));
    for (const { chip, there, position } of chips) {
      const left = there.filter((id) => !order.includes(id)).length;
      write(chip, left ? WORDS.addPosition(position || words.list.nowhere, left) : WORDS.isOn(position || words.list.nowhere));
      chip.disabled = !left;
    }
    done.disabled = !order.some((id) => markOf(id) === 'done');
  };
  for (const cell of [rig.order, rig.holds]) cell.read(draw, end.signal);
  open(WORDS.listLong, end, where,
    h('button', { type: 'button', className: 'main', onclick: () => void putOrder(rigged) }, WORDS.wholeRig(rigged.length)),
    h('h2', null, WORDS.add), h('div', { className: 'choice' }, ...chips.map(({ chip }) => chip), stars), h('p', { className: 'hint' }, WORDS.pickHint),
    h('h2', null, WORDS.away), h('div', { className: 'choice' }, done), holdButton(WORDS.empties, WORDS.emptiesWords, () => void putOrder([])));
}

/** How the call goes: for everybody. */
export function askCall() {
  const end = new AbortController();
  const set = (/** @type {Record<string, unknown>} */ changes) => void call('PATCH', '/api/focus', changes).catch((/** @type {Error} */ error) => say(error.message));
  /** @template T @param {keyof import('../net/contract.js').Call} name @param {[T, string][]} ways */
  const choice = (name, ways) => {
    const chips = ways.map(([value, label]) => h('button', { type: 'button', onclick: () => set({ [name]: value }) }, label));
    rig.call.read((now) => chips.forEach((chip, at) => mark(chip, 'aria-pressed', String(now[name] === ways[at]?.[0]))), end.signal);
    return h('div', { className: 'choice' }, ...chips);
  };
  const percents = (/** @type {number[]} */ shares) => shares.map((share) => /** @type {[number, string]} */ ([share, `${number(share * 100)}\u202f%`]));
  const level = choice('beside_level', percents([0.1, 0.2, 0.35, 0.5]));
  rig.call.read(({ beside }) => (level.hidden = !beside), end.signal);
  open(WORDS.settingsLong, end,
    h('h2', null, WORDS.level), choice('level', percents([0.25, 0.5, 0.75, 1])), h('p', { className: 'hint' }, WORDS.levelHint),
    h('h2', null, WORDS.fade), choice('fade_s', [0, 1, 2, 5].map((seconds) => /** @type {[number, string]} */ ([seconds, seconds ? `${number(seconds)} s` : WORDS.atOnce]))), h('p', { className: 'hint' }, WORDS.fadeHint),
    h('h2', null, WORDS.beside), choice('beside', [['', WORDS.besideNone], ['position', WORDS.besidePosition], ['purpose', WORDS.besidePurpose]]), level);
}

/** @param {string} title @param {AbortController} end @param {...HTMLElement} parts */
function open(title, end, ...parts) {
  const close = h('button', { type: 'button', className: 'main', onclick: () => dialog.close() }, WORDS.ready);
  const dialog = h('dialog', { className: 'call-unit', 'aria-label': title }, h('h2', { className: 'head' }, title), ...parts, close);
  dialog.addEventListener('close', () => (end.abort(), dialog.remove()));
  document.body.append(dialog);
  dialog.showModal();
}
