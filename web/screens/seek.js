// @ts-check
/** Standing under a light that nobody knows: half of the rig breathes, yes or no, until one is left. */
import { h, once, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { fixture, nameOf, rig } from '../state/rig.js';
import { onFinding } from '../words/finding.js';

const WORDS = onFinding.seek;

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const place = h('div', { className: 'place' });
  let drawn = '';
  let none = false;
  const draw = () => {
    const seek = rig.seek.value;
    const mine = seek?.by === rig.you.value.id;
    const now = JSON.stringify([seek, none, rig.you.value.role, seek && nameOf(seek.by)]);
    if (now === drawn) return;
    drawn = now;
    if (!seek) place.replaceChildren(...beginning(none, () => (none = false)));
    else if (!mine) place.replaceChildren(...others(seek));
    else if (seek.left.length > 1) place.replaceChildren(...asking(seek));
    else if (seek.left[0]) place.replaceChildren(...one(seek.left[0], () => (none = true)));
  };
  for (const cell of [rig.seek, rig.you, rig.list]) cell.read(draw, signal);
  main.append(h('h1', null, WORDS.title), place);
}

/** @param {string} label @param {() => void} press @param {string} [className] @param {string} [about] */
const big = (label, press, className = '', about = '') => h('button', { type: 'button', className, onclick: once(press) }, h('b', null, label), about && h('span', null, about));

/** @param {boolean} none the last one looked for was none of the rig @param {() => void} begun */
function beginning(none, begun) {
  const count = rig.list.value.length;
  return [
    none && h('p', { className: 'found', role: 'status' }, WORDS.none),
    none && h('a', { className: 'button', href: '#instead' }, onFinding.instead.title),
    h('p', null, WORDS.how(count)),
    big(WORDS.begin, () => void command({ do: 'seek' }).then((told) => told.is === 'ok' && begun()), 'main'),
    h('p', { className: 'hint' }, WORDS.quiet),
  ].filter((node) => node !== false);
}

/** @param {import('../net/contract.js').Seek} seek */
function others(seek) {
  const stop = big(WORDS.stopOther(nameOf(seek.by)), () => void command({ do: 'seek_end' }));
  return [h('p', { role: 'status' }, WORDS.other(nameOf(seek.by), seek.left.length)), ...(rig.you.value.role === 'lead' ? [stop] : [])];
}

/** @param {import('../net/contract.js').Seek} seek */
function asking(seek) {
  const answer = (/** @type {boolean | null} */ mine) => void command({ do: 'seek_answer', mine });
  return [
    h('p', { className: 'far', role: 'status' }, h('b', null, WORDS.left(seek.left.length)), h('span', null, WORDS.answer(seek.answered + 1, seek.most))),
    big(WORDS.yes, () => answer(true), 'yes', WORDS.yesWords),
    big(WORDS.no, () => answer(false), 'no', WORDS.noWords),
    h('div', { className: 'ends' }, big(WORDS.unsure, () => answer(null)), big(WORDS.stop, () => void command({ do: 'seek_end' }))),
    h('p', { className: 'hint' }, seek.outside.length ? WORDS.outside(seek.outside.length) : ''),
  ];
}

/** @param {string} id the only one left @param {() => void} isNone */
function one(id, isNone) {
  const it = fixture(id);
  const open = () => void command({ do: 'seek_end', found: true }).then((told) => told.is === 'ok' && (location.hash = `#fixture/${encodeURIComponent(id)}`));
  return [
    h('p', { className: 'found', role: 'status' }, WORDS.isIt),
    h('p', { className: 'it' }, h('b', { className: 'channel' }, String(it.channel ?? '–')), h('b', null, it.purpose), h('span', null, WORDS.place(it.position, it.unit))),
    big(WORDS.right, open, 'yes', WORDS.rightWords),
    big(WORDS.wrong, () => {
      isNone();
      void command({ do: 'seek_end' });
    }, 'no', WORDS.wrongWords),
    elsewhere(id),
  ];
}

/** It is that one, but hangs where the paper does not say. @param {string} id */
function elsewhere(id) {
  const it = fixture(id);
  const places = [...new Set(rig.list.value.map((other) => fixture(other).position))].filter(Boolean);
  const position = h('input', { id: 'seek-position', value: it.position, maxLength: 60, autocomplete: 'off' });
  position.setAttribute('list', 'seek-positions');
  const unit = h('input', { id: 'seek-unit', value: it.unit, maxLength: 20, autocomplete: 'off' });
  const why = h('p', { className: 'why', role: 'status' });
  const lead = rig.you.value.role === 'lead';
  const keep = async () => {
    const where = { position: position.value.trim(), unit: unit.value.trim() };
    if (lead) await call('PATCH', `/api/fixtures/${encodeURIComponent(id)}`, where);
    else if ((await command({ do: 'fault', fixture: id, words: WORDS.hangsAt(WORDS.place(where.position, where.unit)) })).is !== 'ok') return;
    await command({ do: 'seek_end', found: true });
    location.hash = `#fixture/${encodeURIComponent(id)}`;
  };
  const form = h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    keep().catch((/** @type {Error} */ wrong) => write(why, wrong.message));
  } }, h('label', { for: 'seek-position' }, WORDS.position), position, h('datalist', { id: 'seek-positions' }, ...places.map((value) => h('option', { value }))),
  h('label', { for: 'seek-unit' }, WORDS.unit), unit, why, h('button', { type: 'submit', className: 'main' }, lead ? WORDS.keep : WORDS.tell));
  return h('details', { className: 'elsewhere' }, h('summary', null, WORDS.elsewhere), form);
}
