// @ts-check
/** The rig: every fixture in hang order, found by typing or by its channel number. */
import { h, mark, write } from '../elements/dom.js';
import { Windowed } from '../elements/windowed.js';
import { fixture, fixtureOfChannel, nameOf, rig } from '../state/rig.js';
import { percent } from '../state/values.js';
import { counted } from '../state/words.js';

/** @typedef {import('../app.js').Stage} Stage */

const ROW_PX = 72;
const HEAD_PX = 40;
let search = '';
let seen = '';

/** The list opens where somebody was last. @param {string} id */
export function remember(id) {
  seen = id;
}

/** @param {Stage} stage */
export function show({ main, signal }) {
  const count = h('p', { className: 'count', role: 'status' });
  const field = h('input', {
    type: 'search', value: search, placeholder: 'Find place, purpose, type', 'aria-label': 'Find a fixture', autocomplete: 'off', spellcheck: false, enterKeyHint: 'search',
  });
  const number = h('button', { type: 'button', 'aria-label': 'Go to a channel number', onclick: () => void jump() }, 'Number');
  const body = h('div', { className: 'rows', role: 'list', 'aria-label': 'Fixtures' });
  const scroller = h('div', { className: 'scroll' }, body);
  const empty = h('p', { className: 'empty' });
  main.append(h('h1', { className: 'unseen' }, 'Fixtures'), scroller, empty, count, h('div', { className: 'find' }, field, number));
  /** @type {Windowed<string>} */
  const list = new Windowed(scroller, body, makeRow, signal);

  const draw = () => {
    const words = search.toLowerCase().split(/\s+/).filter(Boolean);
    const ids = rig.list.value.filter((id) => fits(id, words));
    list.show(withHeads(ids), ROW_PX, HEAD_PX);
    write(count, words.length ? `${ids.length} of ${counted(rig.list.value.length, 'fixture')}` : counted(ids.length, 'fixture'));
    empty.hidden = ids.length > 0;
    const none = rig.link.value === 'live' ? 'The rig is empty. The lead can bring in a rig file on the laptop.' : 'Looking for the laptop.';
    write(empty, rig.list.value.length ? 'Nothing like that hangs here.' : none);
  };
  field.addEventListener('input', () => {
    search = field.value;
    draw();
    scroller.scrollTop = 0;
  });
  field.addEventListener('keydown', (event) => {
    if (event.key !== 'Enter') return;
    const only = rig.list.value.filter((id) => fits(id, search.toLowerCase().split(/\s+/).filter(Boolean)));
    const id = fixtureOfChannel(Number(search)) ?? only[0];
    if (id) location.hash = `#fixture/${id}`;
  });
  rig.list.read(draw, signal);
  rig.link.read(() => rig.list.value.length || draw(), signal);
  list.reveal((id) => id === seen);
}

async function jump() {
  const { askNumber } = await import('../elements/keypad.js');
  const read = (/** @type {number} */ channel) => (fixtureOfChannel(channel) ? channel : `No fixture has channel ${channel}.`);
  const channel = await askNumber('Go to channel', [{ name: 'Channel', start: 'Channel', read }], 'Go');
  const id = channel === null ? undefined : fixtureOfChannel(channel);
  if (!id) return;
  location.hash = `#fixture/${id}`;
}

/** @param {string} id @param {string[]} words all must be found */
function fits(id, words) {
  if (!words.length) return true;
  const it = fixture(id);
  const profile = rig.profiles.get(it.profile);
  const text = `${it.channel} ${it.position} ${it.unit} unit ${it.unit} ${it.purpose} ${profile?.name ?? it.profile} ${profile?.short_name ?? ''} ${it.address ? `${it.universe}/${it.address}` : 'not patched'}`.toLowerCase();
  return words.every((word) => (/^\d+$/.test(word) ? String(it.channel).startsWith(word) || text.includes(` ${word} `) : text.includes(word)));
}

/** @param {string[]} ids @returns {import('../elements/windowed.js').Line<string>[]} a head's item is its position */
function withHeads(ids) {
  /** @type {import('../elements/windowed.js').Line<string>[]} */
  const lines = [];
  let position = '\0';
  for (const id of ids) {
    const here = fixture(id).position;
    if (here !== position) lines.push({ head: true, item: `\0${here}` });
    position = here;
    lines.push({ head: false, item: id });
  }
  return lines;
}

/** @param {string} item @param {AbortSignal} signal */
function makeRow(item, signal) {
  if (item.startsWith('\0')) return h('div', { className: 'head', role: 'listitem' }, h('h2', null, item.slice(1) || 'Nowhere yet'));
  const number = h('b', { className: 'number' });
  const purpose = h('span', { className: 'purpose' });
  const place = h('span', { className: 'place' });
  const who = h('span', { className: 'who' });
  const level = h('span', { className: 'level' });
  const fill = h('i', { className: 'fill' });
  const link = h('a', { href: `#fixture/${item}` }, number, h('span', { className: 'what' }, purpose, place), who, level, h('i', { className: 'column' }, fill));
  const row = h('div', { className: 'row', role: 'listitem' }, link);
  rig.fixtures.get(item)?.read((it) => {
    write(number, String(it.channel));
    write(purpose, it.purpose || 'No purpose written');
    write(place, `Unit ${it.unit} · ${rig.profiles.get(it.profile)?.short_name ?? it.profile}${it.address ? '' : ' · not patched'}`);
    const mine = it.holder === rig.you.value.id;
    write(who, it.holder ? (mine ? 'You' : nameOf(it.holder)) : it.guarded ? 'Guarded' : '');
    write(level, percent(it.level));
    mark(level, 'data-zero', it.level <= 0);
    fill.style.transform = `translateY(${((1 - it.level) * 100).toFixed(1)}%)`;
    mark(row, 'data-drive', it.guarded ? 'guard' : it.holder ? (mine ? 'hand' : 'other') : it.level > 0 ? 'look' : 'home');
  }, signal);
  return row;
}
