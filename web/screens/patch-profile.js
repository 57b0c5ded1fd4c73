// @ts-check
/** Under a cell that takes a profile or a mode: the library, searched while one types, each mode with its slots. */
import { h, mark, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { onPatch } from '../words/patch.js';
import { fetchLaptopWords, named } from '../words/words.js';

/** @typedef {{key: string, name: string, maker: string, kind: string, modes: {name: string, footprint: number}[]}} Listed */
/** @typedef {{profile: string, mode: string}} Kind */

const WORDS = onPatch.patch;
const LATER_MS = 120;
const MOST = 30; // profiles listed; who wants another types more
const HIGH_PX = 320;
let numbers = 0;

/** @type {Promise<Listed[]> | null} */
let whole = null;
/** All that is known without a word of search, for names in another language. */
const all = () => (whole ??= call('GET', '/api/profiles').catch(() => ((whole = null), [])));

/** What the page calls it. @param {Listed} listed */
const nameOf = (listed) => named({ ...listed, short_name: '', modes: [] }).name;

/** @param {string} text @returns {Promise<Listed[]>} */
async function search(text) {
  await fetchLaptopWords();
  if (!text) return all();
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const [found, known] = await Promise.all([call('GET', `/api/profiles?${new URLSearchParams({ q: text })}`).catch(() => []), all()]);
  const here = new Set(found.map((/** @type {Listed} */ { key }) => key));
  return [...found, ...known.filter((/** @type {Listed} */ one) => !here.has(one.key) && words.every((word) => nameOf(one).toLowerCase().includes(word)))];
}

/** @param {string} key @returns {Promise<Listed[]>} that one only */
const only = (key) => fetchLaptopWords().then(() => call('GET', `/api/profiles/${encodeURIComponent(key)}`)).then((/** @type {Listed} */ one) => [one], () => []);

/**
 * @param {HTMLInputElement} input what is typed into
 * @param {{kind: Kind, modesOnly: boolean, began?: string, take: (kind: Kind) => void, host?: HTMLElement}} how modesOnly: of the profile it
 *   has. began: what stood there, and is no word of search. host: a dialog lets nothing outside it be pressed
 * @returns {{key: (event: KeyboardEvent) => boolean, chosen: () => Kind | null, ready: () => Promise<void> | null, end: () => void}} key: whether
 *   it was meant for the list. chosen: null while what is listed is not what was typed. ready: when it will be; null: it is
 */
export function offerProfiles(input, { kind, modesOnly, began = '', take, host = /** @type {HTMLElement} */ (document.getElementById('screen')) }) {
  const name = `profiles-${++numbers}`;
  const list = h('div', { id: name, className: 'offer', role: 'listbox', 'aria-label': modesOnly ? WORDS.columns.mode : WORDS.columns.profile });
  list.popover = 'manual';
  for (const [attribute, value] of Object.entries({ role: 'combobox', 'aria-expanded': 'true', 'aria-controls': name, 'aria-autocomplete': 'list' })) input.setAttribute(attribute, value);
  /** @type {{node: HTMLElement, kind: Kind}[]} */
  let options = [];
  let at = -1;
  let turn = 0;
  let timer = 0;
  /** @type {{promise: Promise<void>, resolve: () => void} | null} */ let busy = null;

  const place = () => {
    const box = input.getBoundingClientRect();
    const below = innerHeight - box.bottom > HIGH_PX || innerHeight - box.bottom > box.top;
    const room = (below ? innerHeight - box.bottom : box.top) - 8;
    const wide = Math.min(Math.max(box.width, 340), innerWidth - 16);
    Object.assign(list.style, {
      width: `${wide}px`, left: `${Math.max(8, Math.min(box.left, innerWidth - wide - 8))}px`, maxHeight: `${Math.min(room, HIGH_PX)}px`,
      top: below ? `${box.bottom}px` : 'auto', bottom: below ? 'auto' : `${innerHeight - box.top}px`,
    });
  };
  const choose = (/** @type {number} */ next) => {
    at = Math.max(0, Math.min(options.length - 1, next));
    for (const [index, { node }] of options.entries()) mark(node, 'aria-selected', String(index === at));
    mark(input, 'aria-activedescendant', options[at]?.node.id ?? null);
    options[at]?.node.scrollIntoView({ block: 'nearest' });
  };
  const draw = (/** @type {Listed[]} */ found) => {
    options = [];
    const typed = modesOnly && input.value !== began ? input.value.toLowerCase() : '';
    const groups = found.slice(0, MOST).map((one) => {
      const modes = one.modes.filter((mode) => mode.name.toLowerCase().includes(typed));
      const nodes = modes.map((mode) => {
        const node = h('div', { id: `${name}-${options.length}`, role: 'option', 'aria-selected': 'false' }, h('span', null, mode.name), h('small', null, WORDS.slots(mode.footprint)));
        const mine = { profile: one.key, mode: mode.name };
        options.push({ node, kind: mine });
        node.addEventListener('click', () => take(mine));
        return node;
      });
      const title = nameOf(one);
      return nodes.length > 0 && h('div', { role: 'group', 'aria-label': title }, h('b', { 'aria-hidden': 'true' }, title), ...nodes);
    });
    list.replaceChildren(...groups.filter((node) => node !== false));
    if (!options.length) list.append(h('p', { className: 'empty', role: 'option', 'aria-disabled': 'true', 'aria-selected': 'false' }, WORDS.noProfile));
    place();
    const best = options.findIndex(({ kind: one }) => one.mode === kind.mode && (one.profile === kind.profile || modesOnly || input.value !== began));
    choose(options.length ? Math.max(0, best) : -1);
  };
  const wait = () => {
    if (!busy) {
      let resolve = () => {};
      busy = { promise: new Promise((done) => (resolve = done)), resolve: () => resolve() };
    }
    mark(list, 'aria-busy', 'true');
  };
  const load = async () => {
    const mine = ++turn;
    const found = modesOnly ? await only(kind.profile) : await search(input.value === began ? '' : input.value);
    if (mine !== turn || !list.isConnected) return;
    draw(found);
    mark(list, 'aria-busy', null);
    busy?.resolve();
    busy = null;
  };
  list.addEventListener('pointerdown', (event) => event.preventDefault()); // the cell keeps the focus
  input.addEventListener('input', () => {
    wait();
    turn += 1; // what is on its way is not what is typed now
    clearTimeout(timer);
    timer = window.setTimeout(load, LATER_MS);
  });
  host.append(list);
  write(list, '');
  list.showPopover();
  place();
  wait();
  void load();

  return {
    key: (event) => {
      const steps = { ArrowDown: 1, ArrowUp: -1, PageDown: 5, PageUp: -5 };
      const step = steps[/** @type {keyof typeof steps} */ (event.key)];
      if (step) choose(at + step);
      return !!step;
    },
    chosen: () => (busy ? null : (options[at]?.kind ?? null)),
    ready: () => busy?.promise ?? null,
    end: () => {
      clearTimeout(timer);
      turn += 1;
      list.remove();
    },
  };
}
