// @ts-check
/** Typing into one cell of the patch, looked at by the laptop while it is typed. */
import { h } from '../elements/dom.js';
import { fixture } from '../state/rig.js';
import { onPatch } from '../words/patch.js';
import { asFinding, judge } from './patch-asked.js';
import { called, COLUMNS } from './patch-fields.js';
import { offerProfiles } from './patch-profile.js';

/** @typedef {import('./patch-asked.js').Finding} Finding */
/** @typedef {import('./patch-fields.js').Fields} Fields */
/** Where the cursor goes when it is done: rows down, columns on. @typedef {[number, number]} Step */
/** id, at: the cell. asked: of the fixture already. found: what there is to say. read: what is typed, as far as it can be read. end: no more of it @typedef {{id: string, at: number, asked: Fields, found: Finding[], read: () => Fields, end: () => void}} Typing */

const WORDS = onPatch.patch;
const PAUSE_MS = 150; // looked at when the fingers rest

/**
 * @param {{cell: HTMLElement, id: string, at: number, text: string, asked: Fields, over: boolean,
 *   told: () => void, take: (fields: Fields | string | null, typed: string, step: Step | null) => void, leave: () => void}} how
 *   over: begun by a letter, which takes the place of what stood there. told: there is something else to say. take: it is
 *   done, with what was read, a sentence why it cannot be, or null where it is as it was. leave: given up
 * @returns {Typing}
 */
export function typeInto({ cell, id, at, text, asked, over, told, take, leave }) {
  const column = /** @type {import('./patch-fields.js').Column} */ (COLUMNS[at - 1]);
  const isKind = column.name === 'profile' || column.name === 'mode';
  const input = h('input', { className: 'typing', value: text, 'aria-label': `${WORDS.columns[column.name]}, ${called(fixture(id))}`, autocomplete: 'off', spellcheck: false, enterKeyHint: 'done', maxLength: 4000 });
  if (column.name === 'channel') input.inputMode = 'numeric';
  if (column.name === 'place') input.inputMode = 'decimal';
  let timer = 0;
  let turn = 0;
  let ended = false;

  const read = () => {
    const kind = input.value !== text ? picker?.chosen() : null;
    if (kind) return ofKind(kind);
    return input.value === text && !over ? null : column.read(input.value, { ...fixture(id), ...asked });
  };
  const ofKind = (/** @type {import('./patch-profile.js').Kind} */ kind) => (column.name === 'mode' ? { mode: kind.mode } : { ...kind });
  /** What is marked in the list is taken, also when nothing was typed. */
  const marked = () => {
    const kind = picker?.chosen();
    return kind ? ofKind(kind) : null;
  };
  const look = async () => {
    const mine = ++turn;
    const now = read();
    const found = now === null ? [] : typeof now === 'string' ? [asFinding(now)] : await judge({ put: [{ id, ...asked, ...now }] });
    if (mine !== turn || ended) return;
    typing.found = found;
    told();
  };
  const end = () => {
    ended = true;
    clearTimeout(timer);
    picker?.end();
    input.remove();
  };
  const finish = (/** @type {Step | null} */ step, /** @type {Fields | string | null} */ fields = read()) => {
    if (ended) return;
    end();
    take(fields, input.value, step);
  };
  const later = () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => void look(), PAUSE_MS);
  };
  /** @type {Typing} */
  const typing = { id, at, asked, found: [], end, read: () => {
    const now = read();
    return typeof now === 'string' || !now ? {} : now;
  } };

  cell.replaceChildren(input);
  input.focus({ preventScroll: true });
  if (over) later();
  else input.select();
  const { profile, mode } = { ...fixture(id), .../** @type {{profile?: string, mode?: string}} */ (asked) };
  const picker = isKind ? offerProfiles(input, { kind: { profile, mode }, modesOnly: column.name === 'mode', began: over ? '' : text, take: (kind) => finish([0, 0], ofKind(kind)) }) : null;

  input.addEventListener('input', later);
  input.addEventListener('blur', () => finish(null));
  for (const name of ['copy', 'cut', 'paste', 'click', 'dblclick']) input.addEventListener(name, (event) => event.stopPropagation());
  input.addEventListener('keydown', (event) => {
    event.stopPropagation();
    if (event.isComposing) return;
    const suggestion = typing.found.find((one) => one.suggestion)?.suggestion;
    if (picker?.key(event)) event.preventDefault();
    else if (event.key === 'Enter' && (event.ctrlKey || event.metaKey) && suggestion) finish([1, 0], { ...typing.read(), ...suggestion });
    else if (event.key === 'Enter' && picker?.ready()) void picker.ready()?.then(() => finish([1, 0], marked() ?? read()));
    else if (event.key === 'Enter') finish([event.shiftKey ? -1 : 1, 0], marked() ?? read());
    else if (event.key === 'Tab') finish([0, event.shiftKey ? -1 : 1]);
    else if (event.key === 'Escape') {
      end();
      leave();
    } else return;
    event.preventDefault();
  });
  return typing;
}
