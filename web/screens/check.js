// @ts-check
/** A rig check: chosen here, then gone through unit by unit with one thumb. */
import { h, mark, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { redraw } from '../elements/rows.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { fixture, nameOf, rig } from '../state/rig.js';
import { onFinding } from '../words/finding.js';
import { late } from '../words/late.js';
import { number } from '../words/words.js';
import { placeOf, progress } from './check-progress.js';
import { checkUnits } from './check-units.js';

/** @typedef {import('../net/contract.js').CheckAt} CheckAt */

const WORDS = late.check;
const LEVELS = [0.25, 0.35, 0.5, 0.75, 1];
const ORDERS = /** @type {const} */ (['position', 'channel', 'universe']);
let order = /** @type {(typeof ORDERS)[number]} */ ('position');
let unproved = true;

/** @returns {CheckAt | undefined} where I am in it */
const mine = () => rig.check.value?.people[rig.you.value.id];

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  let going = /** @type {boolean | null} */ (null);
  let end = new AbortController();
  signal.addEventListener('abort', () => end.abort());
  const draw = () => {
    if (!rig.check.value || going === !!mine()) return;
    going = !!mine();
    end.abort();
    end = new AbortController();
    main.replaceChildren();
    mark(main, 'data-going', going);
    mark(main, 'data-asked', null);
    main.scrollTop = 0;
    if (going) checkUnits(main, mine, end.signal);
    else choose(main, end.signal);
  };
  rig.check.read(draw, signal);
  signal.addEventListener('abort', () => ['data-going', 'data-asked'].forEach((name) => mark(main, name, null)));
}

/** @param {HTMLElement} main @param {AbortSignal} signal */
function choose(main, signal) {
  const { role } = rig.you.value;
  const places = h('div', { className: 'places', role: 'group', 'aria-label': WORDS.where });
  const goOn = h('div', { className: 'places' });
  const orders = ORDERS.map((name) => h('button', { type: 'button', onclick: () => ((order = name), draw()) }, WORDS.orders[name]));
  const which = [true, false].map((only) => h('button', { type: 'button', onclick: () => ((unproved = only), draw()) }, only ? WORDS.unproved : WORDS.all));
  const draw = () => {
    orders.forEach((button, at) => mark(button, 'aria-pressed', String(ORDERS[at] === order)));
    which.forEach((button, at) => mark(button, 'aria-pressed', String(!at === unproved)));
    redraw(goOn, absent(), goOnButton);
    redraw(places, placesOf(order).map(([where, ids]) => [where, placeAt(where, ids)]), placeButton);
  };
  main.append(
    h('h1', null, WORDS.title), progress(signal), faults(signal), goOn,
    h('div', { className: 'choice', role: 'group', 'aria-label': WORDS.order }, ...orders),
    h('div', { className: 'choice', role: 'group', 'aria-label': WORDS.which }, ...which),
    places, ...(role === 'lead' ? [leads(signal)] : []), earlier());
  for (const cell of [rig.check, rig.list, rig.people]) cell.read(draw, signal);
}

/** How many faults there are, and the way to them. @param {AbortSignal} signal */
function faults(signal) {
  const count = h('small');
  rig.faults.read(({ open, fixed }) => write(count, onFinding.faults.count(open, fixed)), signal);
  return h('a', { className: 'button', href: '#faults' }, h('b', null, onFinding.faults.title), count);
}

/** Whose phone went away in the middle: somebody else goes on there, or the same person with another phone. */
function absent() {
  return Object.entries(rig.check.value?.people ?? {}).filter(([id]) => !rig.people.value[id]?.here).map(([id, at]) => /** @type {[string, Absent]} */ ([id, { id, name: nameOf(id), where: placeOf(at), done: at.done, of: at.of }]));
}

/** @typedef {{id: string, name: string, where: string, done: number, of: number}} Absent */

/** @param {Absent} absent */
const goOnButton = ({ id, name, where, done, of }) => h('button', { type: 'button', onclick: once(() => void command({ do: 'check_start', of: id })) }, h('b', null, WORDS.goOn(name)), h('small', null, WORDS.stopped(where, done, of)));

/** @param {string} by @returns {[string, string[]][]} where, and what of it a check comes to */
function placesOf(by) {
  const { role } = rig.you.value;
  const can = rig.list.value.filter((id) => {
    const it = fixture(id);
    return it.address && !it.guarded && !it.out_of_use && (role === 'house' ? it.house : !it.work_light || role === 'lead');
  });
  if (by === 'channel') return can.length ? [['', can]] : [];
  /** @type {Map<string, string[]>} */
  const found = new Map();
  for (const id of can) {
    const where = by === 'universe' ? String(fixture(id).universe) : fixture(id).position;
    found.set(where, [...(found.get(where) ?? []), id]);
  }
  const each = [...found].sort(by === 'universe' ? ([a], [b]) => Number(a) - Number(b) : () => 0);
  return each.length > 1 ? [...each, ['', can]] : each;
}

/** @param {string} where @param {string[]} ids */
function placeAt(where, ids) {
  const done = ids.filter((id) => fixture(id).checked).length;
  const here = Object.entries(rig.check.value?.people ?? {}).filter(([, at]) => at.order === order && at.where === where).map(([id]) => nameOf(id));
  return { order, where, unproved, done, of: ids.length, here };
}

/** @param {ReturnType<typeof placeAt>} place */
function placeButton({ order, where, unproved, done, of, here }) {
  const name = !where ? WORDS.everywhere : order === 'universe' ? WORDS.universe(where) : where;
  const start = once(() => void command({ do: 'check_start', order, where, unproved }));
  const words = [WORDS.done(done, of), here.length ? WORDS.checks(here.join(', ')) : ''].filter(Boolean).join(' \u00b7 ');
  return h('button', { type: 'button', 'aria-disabled': unproved && done === of ? 'true' : null, onclick: start }, h('b', null, name), h('small', null, words));
}

/** What only the lead sets. @param {AbortSignal} signal */
function leads(signal) {
  const level = () => rig.check.value?.round?.level ?? 0.5;
  const buttons = LEVELS.map((share) => h('button', { type: 'button', onclick: () => void command({ do: 'check_round', level: share, begin: false }) }, `${number(100 * share)}\u202f%`));
  const begin = holdButton(WORDS.begin, WORDS.beginWords, () => void command({ do: 'check_round', level: level(), begin: true }));
  rig.check.read(() => buttons.forEach((button, at) => mark(button, 'aria-pressed', String(LEVELS[at] === level()))), signal);
  return h('section', { className: 'leads', 'aria-labelledby': 'check-level' }, h('h2', { id: 'check-level' }, WORDS.level), h('div', { className: 'choice levels', role: 'group', 'aria-labelledby': 'check-level' }, ...buttons), begin);
}

/** The rounds so far, each as a list to read and a table to take away. */
function earlier() {
  const list = h('ul', { className: 'earlier' });
  const folded = h('details', null, h('summary', null, WORDS.earlier), list);
  folded.addEventListener('toggle', async () => {
    if (!folded.open) return;
    const rounds = await call('GET', '/api/check/rounds').catch((/** @type {Error} */ error) => say(error.message));
    const day = (/** @type {number} */ at) => new Date(at * 1000).toLocaleString(document.documentElement.lang, { dateStyle: 'short', timeStyle: 'short' });
    list.replaceChildren(...(rounds ?? []).map((/** @type {import('../net/contract.js').CheckRound} */ one) => h('li', null,
      h('span', null, h('b', null, WORDS.roundN(one.number)), h('small', null, `${day(one.at)} \u00b7 ${one.by} \u00b7 ${WORDS.seen(one.works, one.faults)}`)),
      h('a', { className: 'button', href: `/api/check/rounds/${one.number}/table.csv`, download: `rig-check-${one.number}.csv` }, WORDS.table))));
  });
  return folded;
}
