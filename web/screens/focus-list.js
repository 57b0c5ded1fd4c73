// @ts-check
/** The rows of the focus list: which unit, where, what for, how far, who. The lead moves them by their handle. */
import { h, keepTaps, mark, tick, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { Windowed } from '../elements/windowed.js';
import { call } from '../net/http.js';
import { nameOf, namesOf, rig } from '../state/rig.js';
import { focusList, markOf, nowAt, whoAt } from '../state/turn.js';
import { spoken } from '../words/call.js';
import { words } from '../words/words.js';

const WORDS = spoken.focus;
const ROW_PX = 72;
const EDGE_PX = 56; // so near the edge of the list it goes on by itself while something is dragged

/** @param {string[]} order the whole list, or what of it is still to be there */
export const putOrder = (order) => call('PUT', '/api/order', { order }).catch((/** @type {Error} */ error) => say(error.message));

/** @param {() => string} whose turn it is @param {AbortSignal} signal */
export function makeList(whose, signal) {
  const body = h('div', { className: 'rows', role: 'list', 'aria-label': WORDS.listLong });
  const line = h('i', { className: 'drop', hidden: true });
  const scroller = h('div', { className: 'scroll' }, body);
  body.append(line);
  /** @type {Windowed<string>} */
  const list = new Windowed(scroller, body, (id, end) => makeRow(id, end, (event) => drag(event, id, scroller, body, line)), signal);
  let shown = '';
  const draw = () => {
    const order = focusList();
    const key = `${rig.you.value.role} ${order.join(' ')}`;
    if (key !== shown) list.show(order.map((item) => ({ head: false, item })), ROW_PX, 0);
    shown = key;
  };
  for (const cell of [rig.order, rig.list, rig.you]) cell.read(draw, signal);
  let at = '';
  rig.now.read(() => {
    const here = nowAt(whose()) ?? '';
    if (here && here !== at) list.reveal((id) => id === here);
    at = here;
  }, signal);
  return scroller;
}

/** @param {string} id @param {AbortSignal} signal @param {(event: PointerEvent) => void} grab */
function makeRow(id, signal, grab) {
  const number = h('b', { className: 'number' });
  const purpose = h('span', { className: 'purpose' });
  const place = h('span', { className: 'place' });
  const state = h('b', { className: 'mark' });
  const who = h('span', { className: 'who' });
  const open = h('button', { type: 'button', className: 'open', onclick: () => void import('./focus-row.js').then(({ askRow }) => askRow(id)) }, number, h('span', { className: 'what' }, purpose, place), h('span', { className: 'how' }, state, who));
  const handle = h('span', { className: 'handle', 'aria-hidden': 'true' });
  handle.addEventListener('pointerdown', grab);
  keepTaps(handle);
  const row = h('div', { className: 'call-row', role: 'listitem' }, open, rig.you.value.role === 'lead' && handle);
  const draw = () => {
    const it = rig.fixtures.get(id)?.value;
    if (!it) return;
    const here = whoAt(id);
    const how = markOf(id);
    const given = it.focus?.given ?? null;
    write(number, String(it.channel ?? '\u2013'));
    write(purpose, it.purpose || words.fixture.noPurpose);
    write(place, `${it.position} ${it.unit}${it.fault ? ` \u00b7 ${words.marks.fault(it.fault)}` : ''}`);
    write(state, here.length ? WORDS.now : it.out_of_use ? words.marks.out : WORDS.marks[how]);
    write(who, here.length ? namesOf(here) : how !== 'todo' ? it.focus?.by ?? '' : given ? WORDS.givenTo(given === rig.you.value.id ? words.marks.you : nameOf(given)) : '');
    mark(row, 'data-now', here.length > 0);
    mark(row, 'data-mine', here.includes(rig.you.value.id));
    mark(row, 'data-mark', how);
  };
  rig.fixtures.get(id)?.read(draw, signal);
  for (const cell of [rig.now, rig.people]) cell.read(draw, signal);
  return row;
}

/**
 * A row by its handle, to where a line shows.
 * @param {PointerEvent} event @param {string} id @param {HTMLElement} scroller @param {HTMLElement} body @param {HTMLElement} line
 */
function drag(event, id, scroller, body, line) {
  const handle = /** @type {HTMLElement} */ (event.currentTarget);
  const order = focusList();
  const from = order.indexOf(id);
  let [to, y, frame] = [from, event.clientY, 0];
  const end = new AbortController();
  handle.setPointerCapture(event.pointerId);
  mark(handle.parentElement ?? handle, 'data-dragged', '');
  const draw = () => {
    const at = Math.round((y - body.getBoundingClientRect().top) / ROW_PX);
    const now = Math.max(0, Math.min(order.length, at));
    if (now !== to) tick();
    to = now;
    line.hidden = to === from || to === from + 1;
    line.style.transform = `translateY(${to * ROW_PX}px)`;
  };
  const creep = () => {
    const box = scroller.getBoundingClientRect();
    const past = y < box.top + EDGE_PX ? -8 : y > box.bottom - EDGE_PX ? 8 : 0;
    if (past) {
      scroller.scrollTop += past;
      draw();
    }
    frame = requestAnimationFrame(creep);
  };
  const stop = (/** @type {boolean} */ put) => {
    cancelAnimationFrame(frame);
    end.abort();
    line.hidden = true;
    mark(handle.parentElement ?? handle, 'data-dragged', null);
    if (!put || to === from || to === from + 1) return;
    const rest = order.filter((one) => one !== id);
    rest.splice(to > from ? to - 1 : to, 0, id);
    void putOrder(rest);
  };
  handle.addEventListener('pointermove', (move) => ((y = move.clientY), draw()), { signal: end.signal });
  handle.addEventListener('pointerup', () => stop(true), { signal: end.signal });
  for (const name of ['pointercancel', 'lostpointercapture']) handle.addEventListener(name, () => stop(false), { signal: end.signal });
  frame = requestAnimationFrame(creep);
}
