// @ts-check
/** The patch as a table, for the lead: every fixture with its fields, changed in place, several at once, or by the block. */
import { h, mark, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { fixture, rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { onPatch } from '../words/patch.js';
import { change, redo, standing, undo, watchStanding, ways } from './patch-asked.js';
import { placesOf } from './patch-fields.js';
import { makeGrid } from './patch-grid.js';
import { NEW } from './patch-row.js';
import { finder } from './list.js';

const WORDS = onPatch.patch;
const SAID_MS = 6000;
const SORTS = /** @type {const} */ (['position', 'channel', 'place']);

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  if (rig.you.value.role !== 'lead') {
    main.append(h('h1', null, WORDS.title), h('p', { className: 'empty' }, WORDS.leadOnly));
    return;
  }
  let search = '';
  let sort = 0;
  let onlyOdd = false;
  /** @type {string[]} */ let order = [];

  const find = h('input', { type: 'search', placeholder: WORDS.findHint, 'aria-label': WORDS.find, autocomplete: 'off', spellcheck: false });
  const count = h('p', { className: 'count', role: 'status' });
  const button = (/** @type {string} */ text, /** @type {() => void} */ press) => h('button', { type: 'button', onclick: press }, text);
  const back = button(late.past.undo, () => void undo());
  const again = button(late.past.again, () => void redo());
  const sorted = button('', () => {
    sort = (sort + 1) % SORTS.length;
    arrange(true);
  });
  const odd = button('', () => {
    onlyOdd = !onlyOdd;
    arrange(false);
  });
  const add = button(WORDS.add, () => void addSome());
  const paste = button(WORDS.paste, () => void pasteSome('', grid.cursor()));
  const plan = button(WORDS.plan, () => void planSome());
  const all = button(WORDS.pickAll, () => (grid.picked().length ? grid.letGo() : grid.pickAll()));
  const many = button('', () => void changeSome(grid.cursor().column));
  const out = holdButton(WORDS.remove(0), WORDS.removeWords, () => void remove(grid.picked()));
  const grid = makeGrid({ signal, changed: () => drawTools(), add: () => void addSome(), remove: (ids) => void remove(ids), paste: (text, at) => void pasteSome(text, at), many: (column) => void changeSome(column) });

  main.append(h('div', { className: 'patch-top' }, h('h1', null, WORDS.title), find, sorted, count), grid.node,
    h('div', { className: 'patch-tools', role: 'toolbar', 'aria-label': WORDS.tools }, back, again, add, paste, plan, all, many, odd, out));

  const drawTools = () => {
    const total = rig.fixtures.size;
    const picks = grid.picked().length;
    const bare = rig.list.value.filter((id) => !fixture(id).address).length;
    write(count, picks ? WORDS.pickedOf(picks, total) : WORDS.counted(total, bare));
    write(sorted, WORDS.sorts[SORTS[sort] ?? 'position']);
    write(odd, WORDS.odd(standing.value.size));
    odd.disabled = !standing.value.size && !onlyOdd;
    mark(odd, 'aria-pressed', String(onlyOdd));
    write(all, picks ? WORDS.pickNone : WORDS.pickAll);
    write(many, WORDS.change(picks));
    many.disabled = !picks;
    out.disabled = !picks;
    out.setAttribute('label', WORDS.remove(picks));
    back.disabled = !ways.value.undo;
    again.disabled = !ways.value.redo;
  };
  const shown = () => {
    const fits = finder(search);
    return order.filter((id) => rig.fixtures.has(id) && fits(id) && (!onlyOdd || standing.value.has(id)));
  };
  /** What is there stays where it is, and what comes back comes back there; what is new is put at the end. @param {boolean} anew sorted */
  const arrange = (anew) => {
    const here = rig.list.value;
    const known = new Set(order);
    order = anew ? inOrder(SORTS[sort] ?? 'position') : [...order, ...here.filter((id) => !known.has(id))];
    grid.show(shown());
    drawTools();
  };
  find.addEventListener('input', () => {
    search = find.value;
    arrange(false);
  });
  find.addEventListener('keydown', (event) => {
    if (event.key !== 'Enter' && event.key !== 'ArrowDown') return;
    event.preventDefault();
    grid.focus();
  });
  let size = -1;
  rig.list.read((ids) => {
    // The order of those that are there is nobody's business here but the lead's.
    if (ids.length !== size || ids.some((id) => !order.includes(id))) arrange(size < 0);
    size = ids.length;
  }, signal);
  rig.patched.read(drawTools, signal);
  ways.read(drawTools, signal);
  standing.read(() => (onlyOdd ? arrange(false) : drawTools()), signal);
  watchStanding(signal);
  addEventListener('keydown', (event) => {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || (key !== 'z' && key !== 'y') || /** @type {HTMLElement} */ (event.target).closest('input, textarea, dialog')) return;
    event.preventDefault();
    void (key === 'y' || event.shiftKey ? redo() : undo());
  }, { signal });

  /** @param {string[]} made */
  const done = (made) => {
    arrange(false);
    grid.pick(made);
  };
  const where = () => grid.cursor().id !== NEW && rig.fixtures.has(grid.cursor().id) ? fixture(grid.cursor().id).position : '';
  const addSome = async () => (await import('./patch-many.js')).addFixtures({ position: where(), done });
  const changeSome = async (/** @type {number} */ column) => {
    const ids = grid.picked();
    if (ids.length) (await import('./patch-many.js')).changeMany({ ids, column, done, plan: planSome });
  };
  const planSome = async () => (await import('./patch-plan.js')).planAddresses({ ids: grid.picked(), done });
  const pasteSome = async (/** @type {string} */ text, /** @type {{id: string, column: number}} */ at) => (await import('./patch-paste.js')).pasteRows({ text, at, ids: shown(), picked: grid.picked(), done });
  const remove = async (/** @type {string[]} */ ids) => {
    if (!ids.length) return;
    try {
      await change({ remove: ids });
      say(WORDS.removed(ids.length), [{ label: late.past.undo, press: () => void undo() }], SAID_MS);
      grid.focus();
    } catch (error) {
      say(/** @type {Error} */ (error).message);
    }
  };
}

/** @param {typeof SORTS[number]} by @returns {string[]} ids; those without a number come last */
function inOrder(by) {
  const ids = [...rig.list.value];
  if (by === 'position') return ids;
  const key = (/** @type {string} */ id) => {
    const { channel, universe, address } = fixture(id);
    return by === 'channel' ? (channel ?? Infinity) : placesOf(fixture(id)).length ? (universe ?? 0) * 1000 + (address ?? 0) : Infinity;
  };
  return ids.sort((a, b) => key(a) - key(b) || 0);
}
