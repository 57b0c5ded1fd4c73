// @ts-check
/**
 * The patch as a grid (WAI-ARIA, pattern "grid"): one cell has the cursor, rows are picked, cells are typed into in
 * place. The order of the rows stays while somebody works in it, whatever comes from elsewhere.
 */
import { h, mark, write } from '../elements/dom.js';
import { Windowed } from '../elements/windowed.js';
import { fixture, rig } from '../state/rig.js';
import { onPatch } from '../words/patch.js';
import { asFinding, change, judge, sentenceOf, standing } from './patch-asked.js';
import { asProposed, COLUMNS } from './patch-fields.js';
import { makeNewRow, makeRow, NEW } from './patch-row.js';
import { typeInto } from './patch-typing.js';

/** @typedef {import('./patch-asked.js').Finding} Finding */
/** @typedef {import('./patch-fields.js').Fields} Fields */
/** @typedef {import('./patch-row.js').Draft} Draft */

const WORDS = onPatch.patch;
const ROW_PX = 48;
const CARD_PX = 224;
const SETTLED_MS = 400; // news of what was done comes within; if not, the row shows what the laptop said last
const PAIR_KEYS = /** @type {Record<string, [number, number]>} */ ({ ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] });

/**
 * @param {{signal: AbortSignal, changed: () => void, add: () => void, remove: (ids: string[]) => void, paste: (text: string, at: {id: string, column: number}) => void, many: (column: number) => void}} how
 *   changed: what is picked. many: change a field of all that is picked
 */
export function makeGrid({ signal, changed, add, remove, paste, many }) {
  const told = h('p', { className: 'unseen', role: 'status' });
  const body = h('div', { className: 'rows', role: 'rowgroup' });
  const scroller = h('div', { className: 'scroll', role: 'presentation' }, body);
  const heads = h('div', { role: 'row', className: 'patched heads', 'aria-rowindex': '1' }, h('div', { role: 'columnheader', className: 'tick', 'aria-colindex': '1' }, h('span', { className: 'unseen' }, WORDS.picking)),
    ...COLUMNS.map(({ name, flag }, at) => h('div', { role: 'columnheader', className: `of-${name}${flag ? ' flag' : ''}`, 'aria-colindex': String(at + 2) }, WORDS.columns[name])));
  const node = h('div', { className: 'patch', role: 'grid', 'aria-label': WORDS.title, 'aria-multiselectable': 'true', 'aria-colcount': String(COLUMNS.length + 1) }, h('div', { role: 'rowgroup' }, heads), scroller);
  const narrow = matchMedia('(max-width: 60rem)');

  /** @type {string[]} */ let ids = [];
  const cursor = { id: NEW, column: 0 };
  /** @type {Set<string>} */ const picked = new Set();
  let anchor = '';
  /** @type {Map<string, Draft>} */ const drafts = new Map();
  /** @type {Map<string, {draw: () => void}>} */ const made = new Map();
  /** @type {Map<string, number>} */ const extra = new Map();
  /** @type {import('./patch-typing.js').Typing | null} */ let typing = null;
  let frame = 0;

  const marks = (/** @type {string} */ id) => (typing?.id === id ? typing.found : (drafts.get(id)?.found ?? standing.value.get(id) ?? []));
  /** @type {import('./patch-row.js').Table} */
  const table = {
    isPicked: (id) => picked.has(id),
    cursor: () => cursor,
    draft: (id) => drafts.get(id),
    marks,
    notes: (id) => (typing?.id === id || drafts.has(id) || cursor.id === id ? marks(id) : []),
    use: (id, fields, evenSo) => {
      const mine = typing?.id === id ? typing : null;
      const more = mine ? { ...mine.asked, ...mine.read() } : (drafts.get(id)?.fields ?? {});
      if (mine) stop();
      void ask(id, { ...more, ...fields }, evenSo);
      focus();
    },
    drop: (id) => {
      drafts.delete(id);
      redraw(id);
      focus();
    },
    typing: (id, column) => typing?.id === id && typing.at === column,
    grown: (id, px) => {
      if ((extra.get(id) ?? 0) === px) return;
      if (px) extra.set(id, px);
      else extra.delete(id);
      frame ||= requestAnimationFrame(() => {
        layOut();
        if (cursor.id === id && body.contains(document.activeElement)) list.bring(placeOf(id)); // what is said is seen
      });
    },
  };
  /** @type {Windowed<string>} */
  const list = new Windowed(scroller, body, (id, ends) => {
    const row = id === NEW ? makeNewRow(table) : makeRow(id, table, ends);
    made.set(id, row);
    ends.addEventListener('abort', () => made.get(id) === row && made.delete(id));
    return row.node;
  }, signal);

  const layOut = () => {
    frame = 0;
    const px = narrow.matches ? CARD_PX : ROW_PX;
    list.show([...ids, NEW].map((id) => ({ head: false, item: id, key: id, px: (id === NEW ? ROW_PX : px) + (extra.get(id) ?? 0) })), px, px);
    mark(node, 'aria-rowcount', String(ids.length + 2));
  };
  narrow.addEventListener('change', layOut, { signal });
  const redraw = (/** @type {string} */ id) => made.get(id)?.draw();
  const redrawAll = () => made.forEach((row) => row.draw());
  standing.read(redrawAll, signal);
  const placeOf = (/** @type {string} */ id) => (id === NEW ? ids.length : ids.indexOf(id));
  const cellOf = (/** @type {string} */ id, /** @type {number} */ column) => /** @type {HTMLElement | null} */ (list.bring(placeOf(id))?.querySelector(`[data-column="${id === NEW ? 0 : column}"]`) ?? null);
  const focus = () => cellOf(cursor.id, cursor.column)?.focus({ preventScroll: true });

  /** @param {string} id @param {number} column */
  const moveTo = (id, column) => {
    const was = cursor.id;
    Object.assign(cursor, { id, column: Math.max(0, Math.min(COLUMNS.length, column)) });
    for (const one of new Set([was, id])) redraw(one);
    focus();
  };
  /** @param {number} down @param {number} on @param {boolean} [picking] */
  const step = (down, on, picking = false) => {
    const at = Math.max(0, Math.min(ids.length, placeOf(cursor.id) + down));
    if (picking) pickTo(at);
    moveTo(ids[at] ?? NEW, cursor.column + on);
  };
  /** From where it began to there. @param {number} to */
  const pickTo = (to) => {
    if (!ids.includes(anchor) || !picked.has(anchor)) anchor = cursor.id;
    const [first, last] = [placeOf(anchor), to].sort((a, b) => a - b);
    picked.clear();
    for (const id of ids.slice(first, (last ?? 0) + 1)) picked.add(id);
    tellPicked();
  };
  const tellPicked = () => {
    redrawAll();
    changed();
  };
  /** @param {string} id */
  const toggle = (id) => {
    if (id === NEW) return;
    anchor = id;
    if (!picked.delete(id)) picked.add(id);
    tellPicked();
  };

  /** No longer typing; what was typed is with whoever asks for it. */
  const stop = () => {
    const was = typing;
    typing = null;
    was?.end();
    if (was) redraw(was.id);
  };
  /** @param {string} [over] what was typed first, in the place of what stood there */
  const type = (over) => {
    const { id, column: at } = cursor;
    const column = COLUMNS[at - 1];
    if (id === NEW) return add();
    if (!column) return toggle(id);
    const [it, draft] = [fixture(id), drafts.get(id)];
    const now = asProposed(draft?.fields ?? {}, it);
    if (column.flag) return void ask(id, { ...draft?.fields, [column.name]: !now[/** @type {'house'} */ (column.name)] });
    const cell = cellOf(id, at);
    if (!cell) return;
    typing = typeInto({
      cell, id, at, text: over ?? draft?.text[column.name] ?? column.write(now), asked: draft?.fields ?? {}, over: over !== undefined,
      told: () => {
        redraw(id);
        write(told, typing?.found.map(sentenceOf).join(' ') ?? '');
      },
      take: (fields, typed, way) => {
        stop();
        if (typeof fields === 'string') refuse(id, { fields: draft?.fields ?? {}, text: { [column.name]: typed }, found: [asFinding(fields)] });
        else if (fields) void ask(id, { ...draft?.fields, ...fields });
        if (way) step(...way);
        else if (node.contains(document.activeElement) || document.activeElement === document.body) redraw(id);
      },
      leave: () => {
        stop();
        focus();
      },
    });
    redraw(id);
  };

  /** @param {string} id @param {Draft} draft */
  const refuse = (id, draft) => {
    drafts.set(id, draft);
    redraw(id);
    write(told, draft.found.map(sentenceOf).join(' '));
  };
  /** Asks for it, and shows it as asked until it is so. @param {string} id @param {Fields} fields @param {boolean} [evenSo] */
  const ask = async (id, fields, evenSo) => {
    /** @type {Draft} */
    const draft = { fields, text: {}, found: [] };
    drafts.set(id, draft);
    redraw(id);
    const why = await change({ fixtures: { [id]: fields } }, evenSo).then(() => null, (/** @type {Error} */ error) => error.message);
    if (drafts.get(id) !== draft) return; // asked for otherwise meanwhile
    if (why) {
      const found = await judge({ put: [{ id, ...fields }] });
      if (drafts.get(id) === draft) refuse(id, { ...draft, found: found.some(({ refused }) => refused) ? found : [asFinding(why), ...found] });
      return;
    }
    draft.settled = true;
    redraw(id);
    setTimeout(() => {
      if (drafts.get(id) === draft) drafts.delete(id);
      redraw(id);
    }, SETTLED_MS);
  };

  const empty = () => {
    const column = COLUMNS[cursor.column - 1];
    if (picked.has(cursor.id)) return remove([...ids].filter((id) => picked.has(id)));
    if (cursor.id === NEW || !column || column.flag || column.name === 'profile' || column.name === 'mode') return;
    const fields = column.read('', fixture(cursor.id));
    if (typeof fields !== 'string') void ask(cursor.id, { ...drafts.get(cursor.id)?.fields, ...fields });
  };
  const page = () => list.fitting(narrow.matches ? CARD_PX : ROW_PX);

  body.addEventListener('keydown', (event) => {
    if (/** @type {HTMLElement} */ (event.target).closest('button, input') || event.isComposing || event.altKey) return;
    const [way, command, { key, shiftKey: shift }] = [PAIR_KEYS[event.key], event.ctrlKey || event.metaKey, event];
    const found = marks(cursor.id).find(({ suggestion }) => suggestion)?.suggestion;
    if (way && command) step(way[0] * ids.length, way[1] * COLUMNS.length, shift && way[0] !== 0);
    else if (way) step(...way, shift && way[0] !== 0);
    else if (key === 'PageDown' || key === 'PageUp') step(page() * (key === 'PageUp' ? -1 : 1), 0, shift);
    else if (key === 'Home' || key === 'End') step(command ? (key === 'Home' ? -ids.length : ids.length - 1 - placeOf(cursor.id)) : 0, key === 'Home' ? -COLUMNS.length : COLUMNS.length);
    else if (command && key === 'Enter' && picked.size > 1) many(cursor.column);
    else if (command && key === 'Enter' && found) table.use(cursor.id, found);
    else if (key === 'Enter' || key === 'F2') type();
    else if (key === ' ' && (shift || cursor.column === 0)) toggle(cursor.id);
    else if (key === ' ' && COLUMNS[cursor.column - 1]?.flag) type();
    else if (command && key.toLowerCase() === 'a') pickAll();
    else if (key === 'Delete' || key === 'Backspace') empty();
    else if (key === 'Escape') letGo();
    else if (key.length === 1 && !command && cursor.column > 0 && cursor.id !== NEW && !COLUMNS[cursor.column - 1]?.flag) type(key);
    else return;
    event.preventDefault();
  });
  const pickAll = () => {
    for (const id of ids) picked.add(id);
    tellPicked();
  };
  const letGo = () => {
    if (drafts.has(cursor.id)) return table.drop(cursor.id);
    picked.clear();
    tellPicked();
  };
  /** The cell that had the focus when it was pressed: pressed again it is typed into. @type {Element | null} */
  let again = null;
  body.addEventListener('pointerdown', () => (again = document.activeElement));
  body.addEventListener('click', (event) => {
    const cell = /** @type {HTMLElement} */ (event.target).closest('[data-column]');
    const id = cell?.closest('[data-id]')?.getAttribute('data-id');
    if (!cell || !id) return;
    const column = Number(cell.getAttribute('data-column'));
    if (event.shiftKey && id !== NEW) pickTo(placeOf(id));
    else if (event.ctrlKey || event.metaKey) toggle(id);
    moveTo(id, column);
    if (event.shiftKey || event.ctrlKey || event.metaKey) return;
    if (id === NEW || column === 0 || again === cell) type();
  });
  body.addEventListener('paste', (event) => {
    const text = event.clipboardData?.getData('text/plain');
    if (!text) return;
    event.preventDefault();
    paste(text, { ...cursor });
  });
  body.addEventListener('copy', (event) => {
    if (!getSelection()?.isCollapsed) return;
    const rows = ids.filter((id) => picked.has(id)).map((id) => COLUMNS.map(({ write: written }) => quoted(written(fixture(id)))).join('\t'));
    const one = cursor.id !== NEW && COLUMNS[cursor.column - 1]?.write(fixture(cursor.id));
    event.clipboardData?.setData('text/plain', rows.length ? rows.join('\n') : one || '');
    event.preventDefault();
  });

  return {
    node: h('div', { className: 'patch-host' }, node, told),
    /** In this order. @param {string[]} next */
    show: (next) => {
      ids = next;
      for (const id of picked) if (!rig.fixtures.has(id)) picked.delete(id);
      for (const id of drafts.keys()) if (!rig.fixtures.has(id)) drafts.delete(id);
      if (typing && !ids.includes(typing.id)) stop();
      if (!ids.includes(cursor.id)) Object.assign(cursor, { id: ids[0] ?? NEW });
      layOut();
      redrawAll();
      changed();
    },
    picked: () => ids.filter((id) => picked.has(id)),
    /** @param {string[]} some */
    pick: (some) => {
      picked.clear();
      for (const id of some) picked.add(id);
      tellPicked();
      const last = some.findLast((id) => ids.includes(id));
      if (last) moveTo(last, cursor.column || 1);
    },
    cursor: () => ({ ...cursor }),
    isTyping: () => typing !== null,
    focus,
    pickAll,
    letGo,
  };
}

/** As spreadsheets write a cell. @param {string} text */
const quoted = (text) => (/[\t\n"]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
