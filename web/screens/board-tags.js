// @ts-check
/**
 * Every fixture as a tag on the line of its position, in the order it hangs. Only what is near the screen exists;
 * a change touches the tag it names.
 */
import { h, mark, write } from '../elements/dom.js';
import { aloftAt, fixture, fixtureOfChannel, namesOf, rig } from '../state/rig.js';
import { tintOf } from '../state/tint.js';
import { percent } from '../state/values.js';
import { onBoard } from '../words/board.js';
import { words as said } from '../words/words.js';

const WORDS = onBoard.tags;

const MOST = 60; // tags in one piece: what is made or thrown away at once
const NEAR = '700px';
const LONGEST = 26; // characters on a slip; the whole sentence stands on the sheet and in the title
const PAUSE_MS = 1500; // between the digits of one channel number

/** @typedef {{ids: string[], list: HTMLElement, end: AbortController | null}} Piece */
/** @typedef {{button: HTMLButtonElement, draw: () => void}} Tag */

export class Tags {
  node = h('div', { className: 'lines', role: 'group', 'aria-label': WORDS.label, tabIndex: -1 });
  #open;
  /** @type {Piece[]} */ #pieces = [];
  /** @type {Map<Element, Piece>} */ #of = new Map();
  /** @type {Map<string, Tag>} */ #made = new Map();
  /** @type {Map<string, HTMLElement>} who is aloft, by position */ #aloft = new Map();
  /** @type {Map<string, string>} initials by person */ #initials = new Map();
  #near = new IntersectionObserver((seen) => this.#seen(seen), { root: this.node, rootMargin: NEAR });
  #here = '';
  #shown = '';
  #typed = '';
  #typedAt = 0;

  /**
   * @param {AbortSignal} signal ends with the screen
   * @param {(id: string, byKey: boolean) => void} open somebody wants that fixture's sheet
   */
  constructor(signal, open) {
    this.#open = open;
    this.node.addEventListener('keydown', (event) => this.key(event));
    this.node.addEventListener('focusin', (event) => {
      const id = /** @type {HTMLElement} */ (event.target).dataset.id;
      if (id) this.#stop(id);
    });
    this.node.addEventListener('click', (event) => {
      const id = /** @type {HTMLElement} */ (event.target).closest('button')?.dataset.id;
      if (id) this.#open(id, event.detail === 0);
    });
    signal.addEventListener('abort', () => this.#clear());
    rig.list.read(() => this.#hang(), signal);
    rig.people.read(() => this.#name(), signal);
    rig.people.read(() => this.#climb(), signal);
  }

  /** Which fixture's sheet is open beside the lines; "" for none. @param {string} id */
  set shown(id) {
    for (const [one, on] of /** @type {const} */ ([[this.#shown, null], [id, 'true']])) {
      const tag = this.#made.get(one);
      if (tag) mark(tag.button, 'aria-current', on);
    }
    this.#shown = id;
  }

  /** Brings a fixture's tag into sight, and the keys to it. @param {string} id @param {boolean} [focus] */
  reveal(id, focus = true) {
    const piece = this.#pieces.find((one) => one.ids.includes(id));
    if (!piece) return;
    this.#fill(piece);
    const button = this.#made.get(id)?.button;
    if (focus) button?.focus();
    else this.#stop(id);
    button?.scrollIntoView({ block: 'nearest' });
  }

  /** The next fixture after the one the keys are at for which this holds; round the end. @param {(it: import('../state/rig.js').Fixture) => boolean} fits */
  next(fits) {
    const ids = rig.list.value;
    const at = ids.indexOf(this.#here);
    const id = [...ids.slice(at + 1), ...ids.slice(0, at + 1)].find((one) => fits(fixture(one)));
    if (id) this.reveal(id);
  }

  #clear() {
    this.#near.disconnect();
    for (const piece of this.#pieces) piece.end?.abort();
    this.#pieces = [];
    this.#of.clear();
    this.#made.clear();
    this.#aloft.clear();
    this.node.replaceChildren();
  }

  #hang() {
    const at = this.node.scrollTop;
    this.#clear();
    /** @type {Map<string, string[]>} */
    const positions = new Map();
    for (const id of rig.list.value) {
      const { position } = fixture(id);
      positions.set(position, [...(positions.get(position) ?? []), id]);
    }
    this.node.append(...[...positions].map(([position, ids], index) => this.#line(position, ids, index)));
    this.#climb();
    this.node.scrollTop = at;
    if (!rig.fixtures.has(this.#here)) this.#here = rig.list.value[0] ?? '';
    const [first] = this.#pieces;
    if (first) this.#fill(first); // so that Tab finds something at once
  }

  /** @param {string} position @param {string[]} ids @param {number} index */
  #line(position, ids, index) {
    const name = `line-${index}`;
    const lists = [];
    for (let from = 0; from < ids.length; from += MOST) {
      const piece = { ids: ids.slice(from, from + MOST), list: h('ul', { className: 'line', 'aria-labelledby': name }), end: null };
      piece.list.style.setProperty('--tags', String(piece.ids.length));
      this.#pieces.push(piece);
      this.#of.set(piece.list, piece);
      this.#near.observe(piece.list);
      lists.push(piece.list);
    }
    const aloft = h('b', { className: 'aloft-mark', hidden: true });
    this.#aloft.set(position, aloft);
    return h('section', { className: 'position' }, h('h2', { id: name }, position || WORDS.nowhere, ' ', aloft), ...lists);
  }

  #climb() {
    for (const [position, node] of this.#aloft) {
      const up = aloftAt(position);
      write(node, up.length ? said.marks.aloft(namesOf(up), up.length) : '');
      node.hidden = !up.length;
    }
  }

  /** @param {IntersectionObserverEntry[]} seen */
  #seen(seen) {
    for (const { target, isIntersecting } of seen) {
      const piece = this.#of.get(target);
      if (piece && isIntersecting) this.#fill(piece);
      else if (piece) this.#empty(piece);
    }
  }

  /** @param {Piece} piece */
  #fill(piece) {
    if (piece.end) return;
    const end = (piece.end = new AbortController());
    piece.list.append(...piece.ids.map((id) => this.#make(id, end.signal)));
    piece.list.style.minHeight = '';
  }

  /** @param {Piece} piece */
  #empty(piece) {
    if (!piece.end || piece.ids.includes(this.#here)) return; // the keys come back to it
    piece.list.style.minHeight = `${piece.list.offsetHeight}px`;
    piece.end.abort();
    piece.end = null;
    for (const id of piece.ids) this.#made.delete(id);
    piece.list.replaceChildren();
  }

  /** @param {string} id @param {AbortSignal} signal */
  #make(id, signal) {
    const part = (/** @type {string} */ className) => h('span', { className });
    const [unit, number, purpose, who, word, level] = ['chalk', 'number', 'purpose', 'who', 'word', 'level'].map(part);
    const [fault, hands, plain] = ['slip fault-mark', 'slip hands-mark', 'slip'].map(part);
    const fill = h('i', { className: 'fill' });
    const swatch = h('i', { className: 'swatch' });
    if (!unit || !number || !purpose || !who || !word || !level || !fault || !hands || !plain) throw new Error('unreachable');
    const initials = h('span', { 'aria-hidden': 'true' });
    const holder = h('span', { className: 'unseen' });
    who.append(initials, holder);
    const card = h('span', { className: 'card' }, number, purpose, h('span', { className: 'foot' }, who, swatch, word), level, h('i', { className: 'column' }, fill));
    const button = h('button', { type: 'button', className: 'hung', tabIndex: id === this.#here ? 0 : -1, 'data-id': id }, unit, card, fault, hands, plain);
    mark(button, 'aria-current', id === this.#shown ? 'true' : null);
    let at = -1;
    let colours = '';
    let shade = '';
    /** @type {import('../state/tint.js').Tint | null} */
    let tint = null;
    const cell = rig.fixtures.get(id);
    if (!cell) throw new Error(`no fixture ${id}`);
    const draw = () => {
      const it = cell.value; // its own: it may have left the rig a moment ago
      const me = rig.you.value.id;
      const drive = it.guarded ? 'guard' : it.holder ? (it.holder === me ? 'hand' : 'other') : it.level > 0 ? 'look' : 'home';
      mark(button, 'data-drive', drive);
      if (at !== it.level) {
        at = it.level;
        fill.style.transform = `translateY(${((1 - at) * 100).toFixed(1)}%)`;
        write(level, percent(at));
        mark(level, 'data-zero', at <= 0);
      }
      write(unit, it.unit);
      write(number, String(it.channel));
      write(purpose, it.purpose);
      who.hidden = !it.holder;
      const person = it.holder ? rig.people.value[it.holder] : undefined;
      write(initials, (it.holder && this.#initials.get(it.holder)) || '?');
      write(holder, it.holder ? ` ${it.holder === me ? WORDS.you : (person?.here === false ? WORDS.away : WORDS.has)(person?.name ?? '?')} ` : '');
      mark(who, 'data-away', person?.here === false);
      const now = coloursOf(it);
      if (now !== colours) tint = tintOf(it); // the dear part, and levels change far more often
      colours = now;
      swatch.hidden = !tint || !(it.level > 0 || it.holder); // no light, no colour
      word.hidden = swatch.hidden;
      const css = tint ? tint.css || namedColour(tint.word) : '';
      mark(word, 'data-alone', !css);
      if (css !== shade) swatch.style.background = shade = css;
      write(word, tint?.word ?? '');
      const slips = /** @type {const} */ ([
        [fault, it.fault ? WORDS.fault(shortened(it.fault)) : ''],
        [hands, it.hands_on.length ? WORDS.hands(it.hands_on.map((who) => (who === me ? WORDS.you : (rig.people.value[who]?.name ?? '?'))).join(', ')) : ''],
        [plain, it.work_light ? WORDS.work : it.out_of_use ? said.marks.out : it.armed ? said.marks.armed : it.guarded ? WORDS.guarded : it.address ? '' : WORDS.unpatched],
      ]);
      mark(plain, 'data-armed', !!it.armed);
      for (const [slip, words] of slips) {
        write(slip, words);
        slip.hidden = !words;
      }
      const title = [it.purpose, swatch.hidden ? '' : tint?.word, it.fault && WORDS.fault(it.fault)].filter(Boolean).join(' · ');
      if (button.title !== title) button.title = title;
    };
    this.#made.set(id, { button, draw });
    cell.read(draw, signal);
    return h('li', null, button);
  }

  /** People came or have other names: initials that tell them apart. */
  #name() {
    const before = JSON.stringify([...this.#initials]);
    this.#initials = initialsOf(Object.entries(rig.people.value).map(([id, { name }]) => [id, name]));
    const away = Object.values(rig.people.value).map(({ here }) => here).join();
    if (before === JSON.stringify([...this.#initials]) && away === this.node.dataset.here) return;
    this.node.dataset.here = away;
    for (const { draw } of this.#made.values()) draw();
  }

  /** @param {string} id the one tag that Tab stops at */
  #stop(id) {
    const [old, now] = [this.#made.get(this.#here), this.#made.get(id)];
    if (old) old.button.tabIndex = -1;
    if (now) now.button.tabIndex = 0;
    this.#here = id;
  }

  /** Arrows walk, digits find a channel. @param {KeyboardEvent} event */
  key(event) {
    if (event.ctrlKey || event.altKey || event.metaKey || !rig.fixtures.has(this.#here)) return;
    if (/^\d$/.test(event.key)) return this.#digit(event.key);
    const to = this.#way(event.key);
    if (to === undefined) return;
    event.preventDefault();
    if (to) this.reveal(to);
  }

  /** @param {string} key @returns {string | undefined} where a key leads, "" for nowhere, undefined for no key of ours */
  #way(key) {
    const ids = rig.list.value;
    const at = ids.indexOf(this.#here);
    const line = ids.filter((id) => fixture(id).position === fixture(this.#here).position);
    if (key === 'ArrowLeft') return ids[at - 1] ?? '';
    if (key === 'ArrowRight') return ids[at + 1] ?? '';
    if (key === 'Home') return line[0] ?? '';
    if (key === 'End') return line.at(-1) ?? '';
    if (key === 'ArrowUp' || key === 'ArrowDown') return this.#across(key === 'ArrowDown' ? 1 : -1);
    return undefined;
  }

  /** The nearest tag of the row above or below. @param {1 | -1} way */
  #across(way) {
    const from = this.#made.get(this.#here)?.button.getBoundingClientRect();
    if (!from) return '';
    const rest = [...this.#made].map(([id, { button }]) => ({ id, box: button.getBoundingClientRect() })).filter(({ box }) => (box.top - from.top) * way > 1);
    const row = Math.min(...rest.map(({ box }) => box.top * way));
    const near = rest.filter(({ box }) => Math.abs(box.top * way - row) < 1);
    return near.sort((one, two) => Math.abs(one.box.left - from.left) - Math.abs(two.box.left - from.left))[0]?.id ?? '';
  }

  /** Typing a channel number goes to it. @param {string} digit */
  #digit(digit) {
    const now = performance.now();
    this.#typed = now - this.#typedAt < PAUSE_MS ? this.#typed + digit : digit;
    this.#typedAt = now;
    const id = fixtureOfChannel(Number(this.#typed));
    if (id) this.reveal(id);
  }
}

/** A filter of which the profile knows the name alone. @param {string} word @returns {string} a colour where the browser knows one of that name, else "" */
const namedColour = (word) => (CSS.supports('color', word.replace(' ', '')) ? word.replace(' ', '') : '');

/** @param {string} words @returns {string} cut after a word */
const shortened = (words) => (words.length > LONGEST ? `${words.slice(0, LONGEST).replace(/\s+\S*$/, '')} …` : words);

/** @param {import('../state/rig.js').Fixture} it @returns {string} something that differs when its colour may */
function coloursOf({ mode, values }) {
  let text = mode;
  for (const key in values) if (key.startsWith('Color')) text += ` ${values[key]}`;
  return text;
}

/**
 * Two letters, or as many as it takes to tell everybody apart.
 * @param {[id: string, name: string][]} people
 * @returns {Map<string, string>}
 */
export function initialsOf(people) {
  /** @type {Map<string, string>} */
  const initials = new Map();
  const taken = new Set();
  for (const [id, name] of people) {
    const words = name.trim().split(/\s+/);
    const letters = [...(words[0] ?? '')];
    const whole = words.length > 1 ? words.map((word) => [...word][0]).join('').slice(0, 3) : letters.slice(0, 2).join('');
    const ways = [whole, letters.slice(0, 3).join(''), `${letters[0] ?? ''}${letters.at(-1) ?? ''}`];
    for (let count = 2; count < 100; count += 1) ways.push(`${letters[0] ?? ''}${count}`);
    const one = ways.map((way) => way.toUpperCase()).find((way) => way && !taken.has(way)) ?? '?';
    taken.add(one);
    initials.set(id, one);
  }
  return initials;
}
