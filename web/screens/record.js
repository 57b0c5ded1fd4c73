// @ts-check
/** The record of the day: what happened last, to be undone; and all of it, to be searched and taken away. */
import { h, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { fetchLaptopWords, said, words } from '../words/words.js';
import { makePast, query, timeOf } from './pane-past.js';

/** @typedef {{at: number, name: string, phone: string, fixture: string, channel: number | null, position: string, unit: string, what: string, said: import('../net/contract.js').Said}} Entry */

const WORDS = late.past;
const TYPED_MS = 300;
const FIRST = 50;
const MOST = 1000;

/** Everybody's for the lead, one's own for the others. @param {AbortSignal} signal */
export function makeRecord(signal) {
  const { id, role } = rig.you.value;
  const past = makePast({ query: { limit: 50, mine: role === 'lead' ? '' : 'true' }, most: 8, marks: false, signal });
  for (const cell of [rig.holds, rig.master, rig.blackout, rig.looks, rig.list, rig.order, rig.baseline]) cell.read(past.later, signal);
  const field = h('input', { type: 'search', placeholder: WORDS.find, 'aria-label': WORDS.find, autocomplete: 'off', enterKeyHint: 'search' });
  const found = h('ul', { className: 'found' });
  const told = h('p', { className: 'hint', role: 'status' });
  const table = h('a', { className: 'button', download: 'record.csv' }, WORDS.table);
  const more = h('button', { type: 'button', hidden: true, onclick: () => void look(MOST) }, WORDS.more);
  let timer = 0;
  signal.addEventListener('abort', () => clearTimeout(timer));

  const asked = () => ({ q: field.value.trim(), person: role === 'lead' ? '' : id });
  const look = async (/** @type {number} */ limit) => {
    const wanted = query(asked());
    table.href = `/api/record.csv?${wanted}`;
    past.node.hidden = !!asked().q;
    if (!asked().q) return clear();
    const answer = await call('GET', `/api/record?${wanted}&limit=${limit}`).catch((/** @type {Error} */ error) => error.message);
    await fetchLaptopWords();
    if (signal.aborted || query(asked()) !== wanted) return;
    if (typeof answer === 'string') return write(told, answer);
    write(told, WORDS.found(answer.length, answer.length === limit));
    more.hidden = answer.length < limit || limit === MOST;
    found.replaceChildren(...answer.map(row));
  };
  const clear = () => {
    found.replaceChildren();
    write(told, '');
    more.hidden = true;
  };
  field.addEventListener('input', () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => void look(FIRST), TYPED_MS);
  });
  void look(FIRST);
  return h('section', { className: 'record', 'aria-labelledby': 'record' }, h('h2', { id: 'record' }, role === 'lead' ? WORDS.all : WORDS.mine), past.node, field, told, found, more, table);
}

/** @param {Entry} one */
function row(one) {
  const unit = one.fixture && [one.channel ?? '', one.position && words.fixture.place(one.position, one.unit)].filter(Boolean).join(' \u00b7 ');
  const who = [one.name, one.phone, `${new Date(one.at * 1000).toLocaleDateString(document.documentElement.lang)} ${timeOf(one.at)}`].filter(Boolean).join(' \u00b7 ');
  return h('li', null, h('b', null, said({ why: one.what, said: one.said })), unit && h('small', null, unit), h('small', null, who));
}
