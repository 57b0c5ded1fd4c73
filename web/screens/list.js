// @ts-check
/** The rig: every fixture in hang order or by its number, found by typing, by star, or among the last ones seen. */
import { h, mark, styled, write } from '../elements/dom.js';
import { Windowed } from '../elements/windowed.js';
import { Cell } from '../state/cell.js';
import { choose, prefs, visited } from '../state/prefs.js';
import { aloftAt, fixture, fixtureOfChannel, handsOf, nameOf, namesOf, rig } from '../state/rig.js';
import { percent } from '../state/values.js';
import { marksOf } from '../state/words.js';
import { words } from '../words/words.js';

/** @typedef {import('../app.js').Stage} Stage */
/** One line: a head that stands over some fixtures, or one of them. @typedef {{head: string, ids: string[], top: boolean}} Item */
/** @typedef {import('../elements/windowed.js').Line<Item>} Line */

const WORDS = words.list;
const ROW_PX = 72;
const HEAD_PX = 40;
const PICKING_HEAD_PX = 64;
const RECENT = 4;
let search = '';
let seen = '';
/** @type {((it: import('../state/rig.js').Fixture) => import('../state/tint.js').Tint | null) | undefined} */
let tintOf;
/** What is picked, to be driven together; null while nobody picks. */
const picks = new Cell(/** @type {Set<string> | null} */ (null));

/** The list opens where somebody was last. @param {string} id */
export function remember(id) {
  seen = id;
  visited(id);
}

/** @param {Stage} stage */
export function show({ main, signal }) {
  const count = h('p', { className: 'count', role: 'status' });
  const field = h('input', {
    type: 'search', value: search, placeholder: WORDS.findHint, 'aria-label': WORDS.find, autocomplete: 'off', spellcheck: false, enterKeyHint: 'search',
  });
  const number = h('button', { type: 'button', 'aria-label': WORDS.numberLong, onclick: () => void jump(list) }, WORDS.number);
  const body = h('div', { className: 'rows', role: 'list', 'aria-label': WORDS.title });
  const scroller = h('div', { className: 'scroll' }, body);
  const empty = h('p', { className: 'empty' });
  const top = h('button', { type: 'button', hidden: true, onclick: () => (scroller.scrollTop = 0) }, WORDS.top);
  const sort = h('button', { type: 'button', onclick: () => choose('sort', prefs.sort.value === 'channel' ? 'position' : 'channel') });
  const pick = h('button', { type: 'button', onclick: () => (picks.value = new Set()) }, WORDS.pick);
  const tools = h('div', { className: 'tools' }, count, top, sort, pick);
  const bar = h('div', { className: 'picks', hidden: true });
  main.append(h('h1', { className: 'unseen' }, WORDS.title), scroller, empty, tools, bar, h('div', { className: 'find' }, field, number));
  /** @type {Windowed<Item>} */
  const list = new Windowed(scroller, body, makeLine, signal);

  const found = () => sorted(rig.list.value.filter(finder(search)));
  const draw = () => {
    const ids = found();
    const total = rig.list.value.length;
    const searching = search.trim() !== '';
    list.show([...(searching ? [] : groups()), ...(ids.length ? withHeads(ids) : [])], ROW_PX, picks.value ? PICKING_HEAD_PX : HEAD_PX);
    write(count, searching ? words.count.of(ids.length, total) : words.count.fixtures(total));
    write(sort, prefs.sort.value === 'channel' ? WORDS.byChannel : WORDS.byPosition);
    empty.hidden = ids.length > 0;
    const none = rig.link.value === 'live' ? WORDS.empty : WORDS.looking;
    write(empty, rig.list.value.length ? WORDS.none : none);
    picks.touch(); // its bar counts what is found
  };
  let picking = /** @type {boolean | null} */ (null);
  const drawPicking = async (/** @type {Set<string> | null} */ now) => {
    if (picking === (now !== null)) return;
    picking = now !== null;
    if (picking) await styled('screens/several');
    mark(main, 'data-picking', picking);
    tools.hidden = picking;
    bar.hidden = !picking;
    bar.replaceChildren();
    draw();
    if (picking) (await import('./pick.js')).drawBar(bar, picks, found, signal);
  };
  field.addEventListener('input', () => {
    search = field.value;
    draw();
    scroller.scrollTop = 0;
  });
  field.addEventListener('keydown', (event) => {
    if (event.key !== 'Enter' || picks.value) return;
    const id = fixtureOfChannel(Number(search)) ?? found()[0];
    if (id) location.hash = `#fixture/${id}`;
  });
  scroller.addEventListener('scroll', () => (top.hidden = scroller.scrollTop < 400), { passive: true, signal });
  let drawn = false;
  for (const cell of [prefs.sort, prefs.stars]) cell.read(() => drawn && draw(), signal);
  const open = () => list.reveal((item) => !item.top && item.ids[0] === seen);
  let isOpen = rig.isWhole; // somebody who comes from the first sheet of all may be here before the rest of the rig
  rig.list.read(() => {
    drawn = true;
    draw();
    if (!isOpen && (isOpen = rig.isWhole)) open();
  }, signal);
  picks.read((now) => void drawPicking(now), signal);
  rig.link.read(() => rig.list.value.length || draw(), signal);
  open();
  // The rows that are there draw it: others in their place would be gone from under a thumb.
  if (!tintOf) void import('../state/tint.js').then((tint) => ((tintOf = tint.tintOf), rig.list.value.forEach((id) => rig.fixtures.get(id)?.touch())), () => null);
}

/** @param {Windowed<Item>} list */
async function jump(list) {
  const { askNumber } = await import('../elements/keypad.js');
  const read = (/** @type {number} */ channel) => (fixtureOfChannel(channel) ? channel : WORDS.noChannel(channel));
  const channel = await askNumber(picks.value ? WORDS.pickChannel : WORDS.goTo, [{ name: WORDS.channel, start: WORDS.channel, read }], picks.value ? WORDS.pick : words.keypad.go);
  const id = channel === null ? undefined : fixtureOfChannel(channel);
  if (!id) return;
  if (!picks.value) location.hash = `#fixture/${id}`;
  else if (!picks.value.has(id)) toggle([id]);
  list.reveal((item) => !item.top && item.ids[0] === id);
}

/** Picks them, or puts them back when all of them were picked. @param {string[]} ids */
function toggle(ids) {
  const now = picks.value;
  if (!now) return;
  const all = ids.every((id) => now.has(id));
  for (const id of ids) if (all) now.delete(id); else now.add(id);
  picks.touch();
}

/** @param {string} text @returns {(id: string) => boolean} has all of its words */
export function finder(text) {
  const wanted = text.toLowerCase().split(/\s+/).filter(Boolean);
  return (id) => {
    if (!wanted.length) return true;
    const it = fixture(id);
    const profile = rig.profiles.get(it.profile);
    const text = `${it.channel} ${it.position} ${it.unit} ${WORDS.search.unit} ${it.unit} ${it.purpose} ${profile?.name ?? it.profile} ${profile?.short_name ?? ''} ${it.address ? `${it.universe}/${it.address}` : WORDS.search.notPatched} ${it.fault ? `${WORDS.search.fault} ${it.fault}` : ''}`.toLowerCase();
    return wanted.every((word) => (/^\d+$/.test(word) ? String(it.channel).startsWith(word) || text.includes(` ${word} `) : text.includes(word)));
  };
}

/** @param {string[]} ids in hang order */
const sorted = (ids) => (prefs.sort.value === 'channel' ? ids.sort((a, b) => (fixture(a).channel ?? Infinity) - (fixture(b).channel ?? Infinity)) : ids);

/** @param {string} head @param {string[]} ids @param {boolean} top @returns {Line[]} */
const group = (head, ids, top) => (ids.length ? [{ head: true, item: { head, ids, top } }, ...ids.map((id) => ({ head: false, item: { head: '', ids: [id], top } }))] : []);

/** @returns {Line[]} the two short groups above everything */
function groups() {
  const here = (/** @type {string} */ id) => rig.fixtures.has(id);
  const stars = prefs.stars.value.filter(here);
  const recent = prefs.recent.value.filter((id) => here(id) && !stars.includes(id)).slice(0, RECENT);
  return [...group(WORDS.starred, sorted(rig.list.value.filter((id) => stars.includes(id))), true), ...group(WORDS.seenLast, recent, true)];
}

/** @param {string[]} ids @returns {Line[]} */
function withHeads(ids) {
  if (prefs.sort.value === 'channel') return group(WORDS.byChannel, ids, false);
  /** @type {Map<string, string[]>} */
  const places = new Map();
  for (const id of ids) {
    const here = fixture(id).position;
    places.get(here)?.push(id) ?? places.set(here, [id]);
  }
  return [...places].flatMap(([place, some]) => group(place || WORDS.nowhere, some, false));
}

/** @param {Item} item @param {AbortSignal} signal */
function makeLine(item, signal) {
  if (!item.head) return makeRow(item, signal);
  const can = item.ids.filter((id) => !fixture(id).guarded); // what is guarded is only ever picked by itself
  const all = h('button', { type: 'button', onclick: () => toggle(can) });
  picks.read((now) => write(all, (now && can.every((id) => now.has(id)) ? WORDS.putBackAll : WORDS.pickAll)(can.length)), signal);
  const aloft = h('b', { className: 'aloft-mark' });
  const { position } = fixture(item.ids[0] ?? '');
  rig.people.read(() => {
    const up = item.top || prefs.sort.value === 'channel' ? [] : aloftAt(position);
    write(aloft, up.length ? words.marks.aloft(namesOf(up), up.length) : '');
    aloft.hidden = !up.length;
  }, signal);
  return h('div', { className: 'head', role: 'listitem' }, h('h2', null, item.head), aloft, picks.value && can.length > 0 && all);
}

/** @param {Item} item @param {AbortSignal} signal */
function makeRow({ ids: [id = ''], top }, signal) {
  const number = h('b', { className: 'number' });
  const purpose = h('span', { className: 'purpose' });
  const place = h('span', { className: 'place' });
  const fault = h('b', { className: 'fault-mark' });
  const hands = h('b', { className: 'hands-mark' });
  const who = h('span', { className: 'who' });
  const level = h('span', { className: 'level' });
  const fill = h('i', { className: 'fill' });
  const swatch = h('i', { className: 'swatch' });
  const word = h('span', { className: 'word' });
  const tint = h('span', { className: 'tint' }, swatch, word);
  const link = h('a', { href: `#fixture/${id}` }, number, h('span', { className: 'what' }, purpose, h('span', { className: 'also' }, tint, place), h('span', { className: 'also' }, hands, fault)), who, level, h('i', { className: 'column' }, fill));
  const row = h('div', { className: 'row', role: 'listitem' }, link);
  link.addEventListener('click', (event) => {
    if (!picks.value) return;
    event.preventDefault();
    toggle([id]);
  });
  link.addEventListener('keydown', (event) => {
    if (event.key !== ' ' || !picks.value) return;
    event.preventDefault();
    toggle([id]);
  });
  picks.read((now) => {
    mark(link, 'role', now && 'checkbox');
    mark(link, 'aria-checked', now && String(now.has(id)));
  }, signal);
  rig.fixtures.get(id)?.read((it) => {
    write(number, String(it.channel ?? '\u2013'));
    write(purpose, it.purpose || WORDS.noPurpose);
    const unit = top || prefs.sort.value === 'channel' ? `${it.position} ${it.unit}` : WORDS.unit(it.unit);
    write(place, `${prefs.stars.value.includes(id) ? '\u2605 ' : ''}${unit} · ${rig.profiles.get(it.profile)?.short_name ?? it.profile}${it.address ? '' : ` · ${WORDS.notPatched}`}`);
    const marks = marksOf(it, handsOf(it));
    write(fault, marks.fault);
    write(hands, marks.hands);
    const mine = it.holder === rig.you.value.id;
    write(who, it.out_of_use ? words.marks.out : it.armed ? words.marks.armed : it.holder ? (mine ? WORDS.you : nameOf(it.holder)) : it.guarded ? WORDS.guarded : '');
    mark(row, 'data-armed', !!it.armed);
    write(level, percent(it.level));
    mark(level, 'data-zero', it.level <= 0);
    fill.style.transform = `translateY(${((1 - it.level) * 100).toFixed(1)}%)`;
    mark(row, 'data-drive', it.guarded ? 'guard' : it.holder ? (mine ? 'hand' : 'other') : it.level > 0 ? 'look' : 'home');
    mark(row, 'data-marks', !!(it.fault || it.hands_on.length));
    const colour = tintOf?.(it);
    tint.hidden = !colour;
    if (!colour) return;
    write(word, colour.word);
    swatch.title = colour.word;
    swatch.style.background = colour.css;
  }, signal);
  return row;
}
