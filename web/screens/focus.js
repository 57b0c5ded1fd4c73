// @ts-check
/** The focus call: the list, who is at which unit, and one large button that brings up the next. */
import { h, mark, once, write } from '../elements/dom.js';
import { redraw } from '../elements/rows.js';
import { Cell } from '../state/cell.js';
import { fixture, mine, nameOf, rig } from '../state/rig.js';
import { before, everybody, following, markOf, nowAt } from '../state/turn.js';
import { percent } from '../state/values.js';
import { spoken } from '../words/call.js';
import { words } from '../words/words.js';
import { makePad } from './focus-calls.js';
import { makeList } from './focus-list.js';
import { askNote, noteLines } from './focus-note.js';
import { step } from './hand-row.js';

const WORDS = spoken.focus;
const BOUNCE_MS = 400; // a glove's second touch would pass a unit over (common practice, no source)

/** Whose turn this phone works: its own person's, or for the lead somebody else's. */
const turn = new Cell('');
/** The five words are in sight, instead of the list. */
let calling = false;

/** @returns {string} */
const whose = () => (rig.you.value.role === 'lead' && rig.people.value[turn.value] ? turn.value : rig.you.value.id);

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  if (rig.you.value.role === 'lead' && !nowAt(whose())) turn.value = Object.keys(rig.now.value)[0] ?? '';
  const tools = h('div', { className: 'tools' });
  const list = makeList(whose, signal);
  const now = h('div', { className: 'at-now' }, makeTurns(signal), makeCard(signal));
  const pad = makePad(whose);
  const call = h('button', { type: 'button', onclick: () => ((calling = !calling), draw()) }, spoken.shout.open);
  const draw = () => {
    mark(call, 'aria-pressed', String(calling));
    pad.node.hidden = !calling;
    list.hidden = calling;
    pad.draw();
  };
  main.append(h('h1', { className: 'unseen' }, WORDS.title), now, h('div', { className: 'call-list' }, list, pad.node, tools), makeDock(signal));
  drawTools(tools, signal);
  tools.append(call);
  follow(draw, signal);
}

/** @param {() => void} draw @param {AbortSignal} signal */
function follow(draw, signal) {
  for (const cell of [rig.now, rig.order, rig.people, rig.holds, rig.list, rig.you, turn]) cell.read(draw, signal);
}

/** Whose turn it is: for the lead, who may work anybody's. @param {AbortSignal} signal */
function makeTurns(signal) {
  const row = h('div', { className: 'turns', role: 'group', 'aria-label': WORDS.whose });
  const draw = () => {
    const people = everybody();
    row.hidden = rig.you.value.role !== 'lead' || people.length < 2;
    if (row.hidden) return;
    const items = people.map((id) => {
      const at = nowAt(id);
      const unit = at && rig.fixtures.has(at) ? fixture(at).channel ?? '\u2013' : '';
      return /** @type {[string, {id: string, name: string, unit: number | string, isTurn: boolean}]} */ ([id, { id, name: id === rig.you.value.id ? WORDS.me : nameOf(id), unit, isTurn: id === whose() }]);
    });
    redraw(row, items, ({ id, name, unit, isTurn }) => h('button', { type: 'button', 'aria-pressed': String(isTurn), onclick: () => (turn.value = id) }, name, unit !== '' && h('b', null, String(unit))));
  };
  follow(draw, signal);
  return row;
}

/** The unit that is up, as large as there is room. @param {AbortSignal} signal */
function makeCard(signal) {
  const channel = h('b', { className: 'channel' });
  const place = h('span', { className: 'place' });
  const purpose = h('span', { className: 'purpose' });
  const who = h('span', { className: 'who' });
  const level = h('b', { className: 'leaving' });
  const link = h('a', { className: 'button sheet-link' }, WORDS.sheet);
  let end = new AbortController();
  let shown = '';
  const noting = h('button', { type: 'button', onclick: once(() => askNote(shown)) }, spoken.note.write);
  const none = h('p', { className: 'hint' });
  const card = h('section', { className: 'now-card', 'aria-label': WORDS.card }, channel, h('span', { className: 'about' }, purpose, place, h('span', { className: 'under' }, who, level)), h('span', { className: 'side' }, link, noting));
  const notes = noteLines(() => shown, signal);
  const fill = (/** @type {import('../state/rig.js').Fixture} */ it) => {
    const holder = it.holder;
    write(channel, String(it.channel ?? '\u2013'));
    write(purpose, it.purpose || words.fixture.noPurpose);
    write(place, words.fixture.place(it.position, it.unit));
    write(who, holder === null ? words.fixture.nobody : holder === rig.you.value.id ? words.fixture.inHand : WORDS.inHand(nameOf(holder)));
    write(level, `${percent(it.level)}\u202f%`);
    mark(card, 'data-drive', holder === null ? (it.level > 0 ? 'look' : 'home') : holder === rig.you.value.id ? 'hand' : 'other');
  };
  const draw = () => {
    const at = nowAt(whose()) ?? '';
    const cell = rig.fixtures.get(at);
    card.hidden = !cell;
    none.hidden = !!cell;
    write(none, rig.order.value.length ? WORDS.nobodyYet : rig.you.value.role === 'lead' ? WORDS.emptyLead : WORDS.empty);
    if (at === shown) return cell && fill(cell.value);
    shown = at;
    end.abort();
    end = new AbortController();
    link.href = `#fixture/${at}`;
    cell?.read(fill, end.signal);
    notes.turn();
  };
  signal.addEventListener('abort', () => end.abort());
  follow(draw, signal);
  return h('div', { className: 'card-place' }, card, notes.node, none);
}

/** @param {AbortSignal} signal */
function makeDock(signal) {
  let last = -BOUNCE_MS;
  const guarded = (/** @type {() => void} */ press) => () => {
    if (performance.now() - last < BOUNCE_MS) return;
    last = performance.now();
    press();
  };
  /** @param {import('../state/turn.js').Mark | null} as */
  const on = (as) => {
    const person = whose();
    const after = nowAt(person);
    void step({ do: 'focus_next', ...(person === rig.you.value.id ? {} : { of: person }), ...(after ? { after } : {}), ...(as && after ? { mark: as } : {}) });
  };
  const at = (/** @type {string | null | undefined} */ id) => {
    if (id !== undefined) void step({ do: 'focus_at', fixture: id, ...(whose() === rig.you.value.id ? {} : { of: whose() }) });
  };
  const [label, what] = [h('b', null), h('span', null)];
  const next = h('button', { type: 'button', className: 'main next', onclick: guarded(() => on('done')) }, label, what);
  const button = (/** @type {string} */ words, /** @type {() => void} */ press) => h('button', { type: 'button', onclick: guarded(press) }, words);
  const back = button(words.fixture.back, () => at(before(whose())));
  const come = button(WORDS.comeBack, () => on('back'));
  const skip = button(WORDS.skip, () => on(null));
  const stop = button(words.fixture.letGo, () => at(null));
  const draw = () => {
    const person = whose();
    const now = nowAt(person);
    const to = following(person);
    const it = to && rig.fixtures.get(to)?.value;
    const open = !!now && markOf(now) !== 'done';
    write(label, now ? (it ? words.fixture.next : open ? WORDS.lastDone : WORDS.allDone) : WORDS.begin);
    write(what, it ? `${it.channel ?? '\u2013'} \u00b7 ${it.position} ${it.unit}${it.purpose ? ` \u00b7 ${it.purpose}` : ''}` : now || !rig.order.value.length ? '' : WORDS.allDone);
    next.disabled = !it && !open;
    back.disabled = !before(person);
    come.disabled = !now;
    skip.disabled = !now || !it;
    stop.disabled = !now;
  };
  follow(draw, signal);
  // A one-button remote, as for a page of slides.
  document.addEventListener('keydown', (event) => {
    const { target, key, repeat } = event;
    const page = key === 'PageDown' || key === 'PageUp';
    const free = target === document.body || target === document.getElementById('screen') || (page && target instanceof Node && dock.contains(target));
    if (!free || repeat || !(page || key === 'Enter' || key === ' ')) return;
    event.preventDefault();
    (key === 'PageUp' ? back : next).click();
  }, { signal });
  const dock = h('div', { className: 'call-dock' }, h('div', { className: 'also' }, back, come, skip, stop), next);
  return dock;
}

/** @param {HTMLElement} tools @param {AbortSignal} signal */
function drawTools(tools, signal) {
  const count = h('p', { className: 'count', role: 'status' });
  const make = h('button', { type: 'button', onclick: once(() => void import('./focus-make.js').then(({ askList }) => askList(mine()))) }, WORDS.list);
  const set = h('button', { type: 'button', onclick: once(() => void import('./focus-make.js').then(({ askCall }) => askCall())) }, WORDS.settings);
  follow(() => {
    const order = rig.order.value;
    const done = order.filter((id) => markOf(id) === 'done').length;
    const back = order.filter((id) => markOf(id) === 'back').length;
    write(count, WORDS.count(done, order.length, back));
    make.hidden = set.hidden = rig.you.value.role !== 'lead';
  }, signal);
  tools.append(count, make, set);
}
