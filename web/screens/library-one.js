// @ts-check
/** One profile: its modes, what each control does at which value, what is guarded, and the fixtures of that kind. */
import { h, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { fixture, rig } from '../state/rig.js';
import { guardWords, wordsOf } from '../state/words.js';
import { onLibrary } from '../words/library.js';
import { named } from '../words/words.js';
import { starButton } from './library.js';

/** @typedef {import('../net/contract.js').Profile & {manual_url?: string, notes?: string, source?: {revised?: string}}} Profile */
/** @typedef {import('../net/contract.js').Control} Control */

const WORDS = onLibrary.library;

/** @param {import('../app.js').Stage} stage @param {string} key */
export async function showOne({ main, signal }, key) {
  const back = h('a', { className: 'button back', href: '#library' }, WORDS.back);
  const title = h('h1', null, key);
  main.append(title, back);
  const [profile, found] = await Promise.all([call('GET', `/api/profiles/${encodeURIComponent(key)}`), call('GET', `/api/profiles?${new URLSearchParams({ q: key })}`)]).catch((/** @type {Error} */ error) => [error, []]);
  if (signal.aborted) return;
  if (profile instanceof Error) return void main.append(h('p', { className: 'why', role: 'alert' }, profile.message));
  const it = /** @type {Profile} */ (named(profile));
  const lead = rig.you.value.role === 'lead';
  const starred = found.some((/** @type {import('./library.js').Found} */ one) => one.key === key && one.starred);
  write(title, it.name);
  const revised = it.source?.revised ? WORDS.revised(it.source.revised.slice(0, 10)) : '';
  const users = rig.list.value.filter((id) => fixture(id).profile === key);
  main.append(...[
    h('p', { className: 'about' }, [it.maker, WORDS.kinds[it.kind] ?? it.kind, revised].filter(Boolean).join(' · ')),
    it.guarded && h('p', { className: 'caution' }, guardWords(it.guarded.reason)),
    it.notes && !it.called /* ours are in English */ && h('p', { className: 'hint' }, it.notes),
    h('div', { className: 'choice one' }, starButton(key, it.name, starred, lead),
      h('a', { className: 'button', href: `/api/profiles/${encodeURIComponent(key)}`, download: `${key}.json` }, WORDS.keep),
      lead && h('a', { className: 'button', href: `#profile/copy/${encodeURIComponent(key)}` }, WORDS.copy),
      it.manual_url && h('a', { className: 'button', href: it.manual_url, target: '_blank', rel: 'noopener noreferrer' }, WORDS.manual)),
    h('section', { 'aria-labelledby': 'users' }, h('h2', { id: 'users' }, WORDS.users(users.length)), users.length > 0 && h('div', { className: 'chips' }, ...users.slice(0, 120).map((id) => h('a', { className: 'button', href: `#fixture/${id}` }, String(fixture(id).channel ?? fixture(id).unit))))),
    h('section', { 'aria-labelledby': 'modes' }, h('h2', { id: 'modes' }, WORDS.modes(it.modes.length)), ...it.modes.map((mode, at) => makeMode(mode, at === 0 && it.modes.length === 1))),
  ].filter((node) => node instanceof Node));
}

/** @param {import('../net/contract.js').Mode} mode @param {boolean} open */
function makeMode(mode, open) {
  const folded = h('details', { className: 'mode', open }, h('summary', null, WORDS.mode(mode.name, mode.footprint ?? 0)));
  const fill = () => folded.childElementCount > 1 || folded.append(h('ul', { className: 'controls' }, ...mode.controls.map((control) => makeControl(control, mode.cellNames))));
  if (open) fill();
  folded.addEventListener('toggle', fill);
  return folded;
}

/** @param {Control} control @param {Record<string, string>} [cells] */
function makeControl(control, cells = {}) {
  const shift = 256 ** Math.max(0, (control.offset.length || 2) - 1); // as manuals write it, by the coarse slot
  const from = ([first, last] = [0, 0]) => `${Math.floor(first / shift)}\u2013${Math.floor(last / shift)}`;
  const cell = control.cell ? (cells[control.cell] ?? control.cell) : '';
  const pieces = control.functions.flatMap((fn) => {
    const head = { from: from(fn.dmx), what: fn.name && fn.name !== fn.attribute ? fn.name : wordsOf(fn.attribute), marks: [fn.action && WORDS.acts, fn.strobes && WORDS.strobes].filter(Boolean).join(', ') };
    return [...(control.functions.length > 1 || fn.action ? [head] : []), ...(fn.ranges ?? []).map((range) => ({ from: from(range.dmx), what: range.name, marks: '' }))];
  });
  return h('li', null,
    h('b', { className: 'slots' }, control.offset.length ? control.offset.join(' + ') : WORDS.virtual),
    h('span', { className: 'what' }, h('b', null, [wordsOf(control.attribute, control.functions[0]?.name), cell].filter(Boolean).join(', ')), h('small', null, [control.attribute, WORDS.bits(8 * (control.offset.length || 2))].join(' · ')), control.guarded && h('span', { className: 'guarded' }, WORDS.guarded)),
    pieces.length > 0 && h('details', null, h('summary', null, WORDS.ranges(pieces.length)), h('ul', null, ...pieces.map((piece) => h('li', null, h('b', null, piece.from), ` ${piece.what}`, piece.marks && h('em', null, ` ${piece.marks}`))))));
}
