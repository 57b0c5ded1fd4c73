// @ts-check
/** One fixture of the patch as a row: a cell for each field, and under them what there is to say about it. */
import { h, mark, write } from '../elements/dom.js';
import { fixture, rig } from '../state/rig.js';
import { onPatch } from '../words/patch.js';
import { sentenceOf, suggested } from './patch-asked.js';
import { asProposed, called, COLUMNS } from './patch-fields.js';

/** @typedef {import('./patch-asked.js').Finding} Finding */
/** @typedef {import('./patch-fields.js').Fields} Fields */
/**
 * What was asked of a fixture and is not so yet. text: what was typed and cannot be read, by column. settled: it was
 * done, and only the news of it is on its way.
 * @typedef {{fields: Fields, text: Record<string, string>, found: Finding[], settled?: boolean}} Draft
 */
/**
 * What a row needs to know of the table. notes: what is said under the row now; marks: all there is to say about it.
 * @typedef {{isPicked: (id: string) => boolean, cursor: () => {id: string, column: number}, draft: (id: string) => Draft | undefined,
 *   notes: (id: string) => Finding[], marks: (id: string) => Finding[], use: (id: string, fields: Fields, evenSo?: boolean) => void, drop: (id: string) => void,
 *   typing: (id: string, column: number) => boolean, grown: (id: string, px: number) => void}} Table
 */

const WORDS = onPatch.patch;
/** The row under all fixtures, from which new ones come. */
export const NEW = '+';

/** @param {Table} table @returns {{node: HTMLElement, draw: () => void}} */
export function makeNewRow(table) {
  const cell = h('div', { role: 'gridcell', 'data-column': '0', 'aria-colindex': '1', 'aria-colspan': String(COLUMNS.length + 1) }, WORDS.newRow);
  const node = h('div', { role: 'row', className: 'patched new', 'data-id': NEW }, cell);
  const draw = () => mark(cell, 'tabindex', table.cursor().id === NEW ? '0' : '-1');
  draw();
  return { node, draw };
}

/** @param {string} id @param {Table} table @param {AbortSignal} signal @returns {{node: HTMLElement, draw: () => void}} */
export function makeRow(id, table, signal) {
  const tick = h('span', { className: 'unseen' });
  const cells = [
    h('div', { role: 'gridcell', className: 'tick', 'data-column': '0', 'aria-colindex': '1' }, tick),
    ...COLUMNS.map(({ name, flag }, at) => h('div', { role: 'gridcell', className: `of-${name}${flag ? ' flag' : ''}`, 'data-column': String(at + 1), 'aria-colindex': String(at + 2), 'data-name': WORDS.columns[name] }, h('span', null))),
  ];
  const notes = h('div', { role: 'gridcell', className: 'notes-of', 'aria-colindex': '1', 'aria-colspan': String(cells.length), hidden: true });
  const node = h('div', { role: 'row', className: 'patched', 'data-id': id }, ...cells, notes);
  const watch = new ResizeObserver(() => table.grown(id, notes.hidden ? 0 : notes.offsetHeight));
  watch.observe(notes);
  signal.addEventListener('abort', () => watch.disconnect());
  const texts = cells.map((cell) => cell.firstElementChild);
  /** @type {Finding[]} */
  let shown = [];

  const draw = () => {
    if (!rig.fixtures.has(id)) return;
    const it = fixture(id);
    const [draft, cursor, picked] = [table.draft(id), table.cursor(), table.isPicked(id)];
    const now = draft ? asProposed(draft.fields, it) : it;
    mark(node, 'aria-selected', String(picked));
    mark(node, 'data-draft', !!draft && !draft.settled);
    write(tick, (picked ? WORDS.picked : WORDS.notPicked)(called(it)));
    const found = table.notes(id);
    const all = table.marks(id);
    mark(node, 'data-found', all.some(({ refused }) => refused) ? 'wrong' : all.length ? 'odd' : null);
    for (const [at, cell] of cells.entries()) {
      mark(cell, 'tabindex', cursor.id === id && cursor.column === at ? '0' : '-1');
      const column = COLUMNS[at - 1];
      if (!column || table.typing(id, at)) continue;
      const span = /** @type {HTMLElement} */ (texts[at]);
      if (cell.firstChild !== span) cell.replaceChildren(span); // something was typed there
      write(span, draft?.text[column.name] ?? column.write(now));
      const changed = !!draft && !draft.settled && (column.name in draft.text || column.write(now) !== column.write(it));
      mark(cell, 'data-asked', changed);
      if (column.flag) mark(cell, 'aria-label', `${WORDS.columns[column.name]}: ${span.textContent ? WORDS.yes : WORDS.no}`);
    }
    drawNotes(found, draft);
  };
  const drawNotes = (/** @type {Finding[]} */ found, /** @type {Draft | undefined} */ draft) => {
    if (found === shown && notes.hidden === !found.length) return;
    shown = found;
    notes.hidden = !found.length;
    notes.replaceChildren(...found.map((one) => {
      const { suggestion } = one;
      const instead = suggestion && h('button', { type: 'button', onclick: () => table.use(id, suggestion) }, suggested(suggestion));
      const both = one.kind === 'unit' && one.refused && h('button', { type: 'button', onclick: () => table.use(id, {}, true) }, WORDS.both);
      return h('p', { className: one.refused ? 'why' : 'odd' }, h('span', null, sentenceOf(one)), instead, both);
    }));
    if (draft && !draft.settled && found.length) notes.lastElementChild?.append(h('button', { type: 'button', onclick: () => table.drop(id) }, WORDS.asItWas));
    if (!found.length) table.grown(id, 0);
  };
  notes.addEventListener('pointerdown', (event) => event.preventDefault()); // what is being typed keeps the focus
  rig.fixtures.get(id)?.read(draw, signal);
  return { node, draw };
}
