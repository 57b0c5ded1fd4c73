// @ts-check
/** A change of many fixtures before it is made: what becomes of each, what is wrong with it, and the button that does it. */
import { h, mark, once, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { fixture, rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { onPatch } from '../words/patch.js';
import { words } from '../words/words.js';
import { change, judge, sentenceOf, suggested, undo } from './patch-asked.js';
import { asProposed, BARE, called, COLUMNS } from './patch-fields.js';

/** @typedef {import('./patch-asked.js').Finding} Finding */
/** @typedef {import('./patch-fields.js').Fields} Fields */
/** id: null for a new one. wrong: what cannot be read of it. @typedef {{id: string | null, fields: Fields, wrong?: string[]}} Row */

const WORDS = onPatch.patch;
const PAUSE_MS = 200;
const MOST = 150; // rows written out; those with a problem come first
const SAID_MS = 6000;

/**
 * A dialog that is gone when it is closed.
 * @param {string} title @param {string} className @param {...import('../elements/dom.js').Child} children
 */
export function openDialog(title, className, ...children) {
  const form = h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => event.preventDefault() }, h('h2', null, title), ...children);
  const dialog = h('dialog', { className: `patching ${className}`, 'aria-label': title }, form);
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
  return { dialog, end: () => dialog.close() };
}

/** @param {string} id @param {string} label @param {string} value @param {Record<string, unknown>} [more] */
export function field(id, label, value, more = {}) {
  const input = h('input', { id, value, autocomplete: 'off', spellcheck: false, ...more });
  return { input, node: h('div', { className: 'field' }, h('label', { for: id }, label), input) };
}

/** What a row is called: the fixture it is about, or the new one. @param {Row} row */
const nameOf = ({ id, fields }) => (id && rig.fixtures.has(id) ? called(fixture(id)) : `${WORDS.isNew} ${called(asProposed(fields, BARE))}`);

/** @param {Row} row @returns {string} field by field, before and after */
function changesOf({ id, fields }) {
  const before = id ? fixture(id) : BARE;
  const after = asProposed(fields, before);
  return COLUMNS.flatMap(({ name, write: written }) => {
    const [was, now] = [written(before), written(after)];
    return was === now ? [] : [`${WORDS.columns[name]} ${id ? `${was || '\u2013'} \u2192 ` : ''}${now || '\u2013'}`];
  }).join(' \u00b7 ');
}

/** @param {Row} row */
const isChange = (row) => row.id === null || !!row.wrong?.length || changesOf(row) !== '';

/**
 * @param {{done: (ids: string[]) => void}} how done: those changed and added, once it is made
 * @returns {{node: HTMLElement, propose: (rows: Row[]) => void}}
 */
export function makeProposal({ done }) {
  const count = h('p', { className: 'count', role: 'status' });
  const list = h('ul', { className: 'proposed' });
  const failed = h('p', { className: 'why', role: 'alert' });
  const skip = h('button', { type: 'button', hidden: true });
  const go = h('button', { type: 'button', className: 'main' });
  /** @type {Row[]} */ let rows = [];
  /** @type {Map<Row, Finding[]>} */ let found = new Map();
  let timer = 0;
  let turn = 0;

  const bad = (/** @type {Row} */ row) => !!row.wrong?.length || !!found.get(row)?.some(({ refused }) => refused);
  const draw = (ready = true) => {
    const wrong = rows.filter(bad);
    const news = rows.filter(({ id }) => id === null).length;
    write(count, WORDS.proposed(rows.length - news, news, wrong.length));
    const first = [...wrong, ...rows.filter((row) => !bad(row) && found.has(row)), ...rows.filter((row) => !bad(row) && !found.has(row))];
    list.replaceChildren(...first.slice(0, MOST).map(line), ...(rows.length > MOST ? [h('li', { className: 'hint' }, WORDS.more(rows.length - MOST))] : []));
    write(go, WORDS.apply(rows.length));
    go.disabled = !ready || !rows.length || wrong.length > 0;
    write(skip, WORDS.skip(wrong.length));
    skip.hidden = !wrong.length || wrong.length === rows.length;
  };
  const line = (/** @type {Row} */ row) => {
    const problems = (found.get(row) ?? []).map((one) => {
      const { suggestion } = one;
      const use = suggestion && h('button', { type: 'button', onclick: () => propose(rows.map((each) => (each === row ? { ...row, fields: { ...row.fields, ...suggestion } } : each))) }, suggested(suggestion));
      return h('p', { className: one.refused ? 'why' : 'odd' }, h('span', null, sentenceOf(one)), use);
    });
    const node = h('li', null, h('b', null, nameOf(row)), h('span', null, changesOf(row)), ...(row.wrong ?? []).map((why) => h('p', { className: 'why' }, why)), ...problems);
    mark(node, 'data-found', bad(row) ? 'wrong' : null);
    return node;
  };
  const look = async () => {
    const [mine, asked] = [++turn, rows];
    const all = asked.length ? await judge({ put: asked.map(({ id, fields }) => (id ? { id, ...fields } : fields)) }) : [];
    if (mine !== turn) return;
    found = new Map();
    for (const each of all) {
      const row = asked[each.put ?? 0];
      if (row) found.set(row, [...(found.get(row) ?? []), each]);
    }
    draw();
  };
  /** @param {Row[]} wanted */
  const propose = (wanted) => {
    rows = wanted.filter(isChange);
    found = new Map([...found].filter(([row]) => rows.includes(row)));
    write(failed, '');
    draw(false);
    clearTimeout(timer);
    timer = window.setTimeout(() => void look(), PAUSE_MS);
  };
  skip.addEventListener('click', () => propose(rows.filter((row) => !bad(row))));
  go.addEventListener('click', once(async () => {
    go.disabled = true;
    /** @type {Record<string, Fields>} */
    const fixtures = {};
    for (const { id, fields } of rows) if (id) fixtures[id] = fields;
    const add = rows.flatMap(({ id, fields }) => (id ? [] : [fields]));
    try {
      const now = await change({ fixtures, add });
      done(now.map(({ id }) => id));
      say(WORDS.done(now.length), [{ label: late.past.undo, press: () => void undo() }], SAID_MS);
    } catch (error) {
      write(failed, /** @type {Error} */ (error).message);
      draw();
    }
  }));
  const node = h('div', { className: 'proposal' }, count, list, failed, skip, h('div', { className: 'ends' }, h('button', { type: 'button', onclick: () => node.closest('dialog')?.close() }, words.keypad.notNow), go));
  draw(false);
  return { node, propose };
}
