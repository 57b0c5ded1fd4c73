// @ts-check
/** Handing over: one press makes the pack; and what is otherwise than the last time at this venue. */
import { h, mark, styled, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { kept } from '../state/prefs.js';
import { onShow } from '../words/show.js';
import { language } from '../words/words.js';
import { timeOf } from './pane-past.js';

/** @typedef {{at: number, show: string, venue: string, by: string}} Pack */
/** @typedef {{unit: string, was: string, now: string}} Difference */
/** @typedef {{then: Pack, looks: {name: string, units: string[]}[]} & Record<typeof KINDS[number], Difference[]>} Compared */

const WORDS = onShow.handover;
const KINDS = /** @type {const} */ (['added', 'gone', 'moved', 'readdressed', 'retyped', 'new', 'still', 'over']);

/** For the lead only. @param {AbortSignal} signal */
export function makeHandover(signal) {
  void styled('screens/handover');
  const go = h('a', { className: 'button main', download: '' }, WORDS.go);
  go.addEventListener('click', () => (go.href = address()), { signal }); // in the size of paper that was chosen last
  go.href = address();
  const then = h('div', { className: 'choice', role: 'group', 'aria-label': WORDS.which });
  const told = h('div', { className: 'told' });
  const status = h('p', { className: 'hint', role: 'status' });
  const show = (/** @type {Compared | null} */ compared) => {
    write(status, compared ? WORDS.than(named(compared.then)) : WORDS.none);
    told.replaceChildren(...(compared ? listed(compared) : []));
  };
  const look = async (/** @type {number} */ at) => {
    write(status, WORDS.looking);
    const answer = await call('GET', `/api/handover/last?pack=${at}`).catch((/** @type {Error} */ error) => error.message);
    if (signal.aborted) return;
    if (typeof answer === 'string') return write(status, answer);
    const packs = /** @type {Pack[]} */ (answer.packs);
    then.replaceChildren(...(packs.length > 1 ? packs.map((pack, number) => pressed(named(pack), number === at, () => void look(number))) : []));
    show(answer.compared);
  };
  const file = h('input', { type: 'file', hidden: true, accept: '.zip,.json', 'aria-label': WORDS.bring });
  file.addEventListener('change', () => {
    const chosen = file.files?.[0];
    file.value = ''; // or the same file could not be chosen a second time
    if (chosen) void bring(chosen);
  }, { signal });
  const bring = async (/** @type {File} */ chosen) => {
    const answer = await call('POST', '/api/handover/compare', chosen).catch((/** @type {Error} */ error) => error.message);
    if (signal.aborted) return;
    for (const button of then.children) mark(button, 'aria-pressed', 'false');
    told.replaceChildren();
    if (typeof answer === 'string') write(status, answer);
    else show(answer);
  };
  const last = h('details', { className: 'papers' }, h('summary', null, WORDS.last), then, status, told,
    h('button', { type: 'button', onclick: () => file.click() }, WORDS.bring), file);
  last.addEventListener('toggle', () => last.open && void look(0), { signal });
  return h('section', { className: 'handover', 'aria-labelledby': 'handover' }, h('h2', { id: 'handover' }, WORDS.title), go, h('p', { className: 'hint' }, WORDS.hint), last);
}

const address = () => `/api/handover.zip?${new URLSearchParams({ size: kept('paper-size', 'a4'), language })}`;

/** @param {Pack} pack */
const named = ({ at, show }) => [new Date(at * 1000).toLocaleDateString(document.documentElement.lang), timeOf(at), show].filter(Boolean).join(' \u00b7 ');

/** @param {string} name @param {boolean} on @param {() => void} choose */
const pressed = (name, on, choose) => h('button', { type: 'button', 'aria-pressed': String(on), onclick: choose }, name);

/** @param {Compared} compared */
function listed(compared) {
  const lists = KINDS.filter((kind) => compared[kind].length).map((kind) => list(WORDS.kinds[kind], compared[kind].map(({ unit, was, now }) => [unit, WORDS.change(was, now)])));
  if (compared.looks.length) lists.push(list(WORDS.kinds.looks, compared.looks.map(({ name, units }) => [name, units.join(', ')])));
  return lists.length ? lists.flat() : [h('p', null, WORDS.same)];
}

/** @param {string} title @param {string[][]} rows what, and what of it */
function list(title, rows) {
  return [h('h3', null, `${title} (${rows.length})`), h('ul', null, ...rows.map(([what = '', more = '']) => h('li', null, h('b', null, what), more && h('small', null, more))))];
}
