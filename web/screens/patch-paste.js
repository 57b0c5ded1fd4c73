// @ts-check
/** A block from a spreadsheet into the patch: from the cursor on over the fixtures that are there, then new ones. */
import { h } from '../elements/dom.js';
import { fixture, rig } from '../state/rig.js';
import { onPatch } from '../words/patch.js';
import { BARE, COLUMNS } from './patch-fields.js';
import { makeProposal, openDialog } from './patch-proposal.js';

/** @typedef {import('./patch-fields.js').Column} Column */
/** @typedef {import('./patch-proposal.js').Row} Row */

const WORDS = onPatch.patch;

/**
 * Rows and cells of tab-separated text, as spreadsheets put it on the clipboard: a cell with a tab, a line or a quote
 * in it stands in quotes, and quotes in it are doubled.
 * @param {string} text @returns {string[][]}
 */
export function cellsOf(text) {
  /** @type {string[][]} */
  const rows = [[]];
  const cell = /(?:"((?:[^"]|"")*)"(?=[\t\r\n]|$)|([^\t\r\n]*))(\t|\r\n|\n|\r|$)/gy;
  for (let found = cell.exec(text); found; found = cell.exec(text)) {
    const [whole, inQuotes, plain = '', end] = found;
    rows.at(-1)?.push(inQuotes === undefined ? plain : inQuotes.replaceAll('""', '"'));
    if (end !== '\t') rows.push([]);
    if (cell.lastIndex >= text.length) {
      if (end === '\t') rows.at(-1)?.push('');
      break;
    }
    if (!whole) cell.lastIndex += 1;
  }
  return rows.filter((row) => row.some((one) => one.trim()));
}

/** The columns that a first row of headings names; null: it is none. @param {string[]} row @returns {(Column | 'universe' | null)[] | null} */
function headings(row) {
  const found = row.map((text) => {
    const wanted = text.trim().toLowerCase();
    if (wanted === 'universe' || wanted === WORDS.universe.toLowerCase()) return 'universe';
    if (wanted === 'address') return COLUMNS.find(({ name }) => name === 'place') ?? null;
    return COLUMNS.find(({ name }) => [name.replace('_', ' '), WORDS.columns[name].replaceAll('\u00ad', '').toLowerCase()].includes(wanted)) ?? null;
  });
  return found.filter(Boolean).length > row.length / 2 && found.some((one) => one && one !== 'universe') ? found : null;
}

/**
 * @param {string} text @param {{id: string, column: number}} at the cursor @param {string[]} ids in the order of the table
 * @param {string[]} picked one single cell goes into all of these
 * @returns {Row[]}
 */
export function rowsOf(text, at, ids, picked) {
  let block = cellsOf(text);
  const named = block.length > 1 ? headings(block[0] ?? []) : null;
  if (named) block = block.slice(1);
  const columns = named ?? COLUMNS.slice(Math.max(0, at.column - 1));
  const from = ids.indexOf(at.id);
  const single = block.length === 1 && block[0]?.length === 1 && !named;
  const where = single && picked.length > 1 ? picked : from < 0 ? [] : ids.slice(from, from + block.length);
  if (single && picked.length > 1) block = picked.map(() => block[0] ?? []);
  return block.map((cells, line) => {
    const id = where[line] ?? null;
    const it = id ? fixture(id) : BARE;
    /** @type {Row} */
    const row = { id, fields: id ? {} : { profile: '', mode: '' }, wrong: [] };
    const universe = cells[columns.indexOf('universe')]?.trim();
    for (const [place, cell] of cells.entries()) {
      const column = columns[place];
      if (!column || column === 'universe') continue;
      const typed = column.name === 'place' && universe && /^\d+$/.test(cell.trim()) ? `${universe}.${cell.trim()}` : cell;
      const fields = column.read(typed, { ...it, ...row.fields });
      if (typeof fields === 'string') row.wrong?.push(`${WORDS.columns[column.name]} \u201c${cell}\u201d: ${fields}`);
      else Object.assign(row.fields, fields);
    }
    return row;
  });
}

/**
 * @param {{text: string, at: {id: string, column: number}, ids: string[], picked: string[], done: (ids: string[]) => void}} how text: "" where it is still to be pasted
 */
export function pasteRows({ text, at, ids, picked, done }) {
  const proposal = makeProposal({
    done: (made) => {
      end();
      done(made);
    },
  });
  const area = h('textarea', { id: 'pasted', rows: 4, spellcheck: false, value: text });
  const propose = () => proposal.propose(rowsOf(area.value, at, ids.filter((id) => rig.fixtures.has(id)), picked));
  area.addEventListener('input', propose);
  const hint = ids.includes(at.id) ? WORDS.pasteAt(WORDS.columns[COLUMNS[Math.max(0, at.column - 1)]?.name ?? 'channel'], String(fixture(at.id).channel ?? '\u2013')) : WORDS.pasteNew;
  const { end } = openDialog(WORDS.paste, 'wide', !text && h('div', { className: 'field' }, h('label', { for: 'pasted' }, WORDS.pasteHere), area), h('p', { className: 'hint' }, hint, ' ', WORDS.pasteHint), proposal.node);
  if (text) propose();
  else area.focus();
}
