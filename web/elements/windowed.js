// @ts-check
/**
 * A long list of which only the rows near the screen exist. Two heights: lines (the fixtures) and heads (positions);
 * or each its own. The focused row is never taken away.
 */
const SPARE_PX = 320;

/** key: a line of the same key stays as it is when the list is shown anew. px: its own height. @template T @typedef {{head: boolean, item: T, key?: string, px?: number}} Line */

/** @template T */
export class Windowed {
  #scroller;
  #body;
  #make;
  /** @type {Line<T>[]} */ #lines = [];
  /** @type {number[]} */ #tops = [0];
  /** @type {Map<number, {node: HTMLElement, end: AbortController}>} */ #made = new Map();
  #frame = 0;

  /**
   * @param {HTMLElement} scroller
   * @param {HTMLElement} body gets the full height
   * @param {(item: T, signal: AbortSignal) => HTMLElement} make signal ends when the row goes
   * @param {AbortSignal} signal ends with the screen
   */
  constructor(scroller, body, make, signal) {
    this.#scroller = scroller;
    this.#body = body;
    this.#make = make;
    scroller.addEventListener('scroll', () => (this.#frame ||= requestAnimationFrame(() => this.#fill())), { passive: true, signal });
    const watch = new ResizeObserver(() => this.#fill());
    watch.observe(scroller);
    signal.addEventListener('abort', () => {
      watch.disconnect();
      this.#clear();
    });
  }

  /** @param {Line<T>[]} lines @param {number} row height of a line in px @param {number} head height of a head */
  show(lines, row, head) {
    const stays = this.#keyed(lines);
    if (!stays) this.#clear();
    this.#lines = lines;
    this.#tops = [0];
    for (const [at, line] of lines.entries()) this.#tops.push((this.#tops[at] ?? 0) + (line.px ?? (line.head ? head : row)));
    this.#body.style.height = `${this.#tops.at(-1)}px`;
    if (stays) this.#rehang(stays);
    this.#fill();
  }

  /** @param {Line<T>[]} lines @returns {Map<number, {node: HTMLElement, end: AbortController}> | null} what is made already, by its new place */
  #keyed(lines) {
    if (!lines[0]?.key || !this.#lines[0]?.key) return null;
    const old = new Map([...this.#made].map(([at, made]) => [this.#lines[at]?.key, made]));
    /** @type {Map<number, {node: HTMLElement, end: AbortController}>} */
    const stays = new Map();
    for (const [at, { key }] of lines.entries()) {
      const made = old.get(key);
      if (!made) continue;
      stays.set(at, made);
      old.delete(key);
    }
    for (const { node, end } of old.values()) {
      end.abort();
      node.remove();
    }
    return stays;
  }

  /** Puts what is made already into its new order around the focused row: moved in the page, that would lose the focus. @param {Map<number, {node: HTMLElement, end: AbortController}>} stays */
  #rehang(stays) {
    this.#made = stays;
    const places = [...stays].sort(([a], [b]) => a - b);
    const focused = places.find(([, { node }]) => node.contains(document.activeElement));
    let before = true;
    for (const [at, { node }] of places) {
      if (node === focused?.[1].node) before = false;
      else if (focused && before) this.#body.insertBefore(node, focused[1].node);
      else this.#body.append(node);
      this.#place(node, at);
    }
  }

  /** @param {number} at @returns {HTMLElement | null} that line, scrolled into sight, and no further than that takes */
  bring(at) {
    const [top, end] = [this.#tops[at], this.#tops[at + 1]];
    if (top === undefined || end === undefined) return null;
    const { scrollTop, clientHeight } = this.#scroller;
    if (top < scrollTop) this.#scroller.scrollTop = top;
    else if (end > scrollTop + clientHeight) this.#scroller.scrollTop = Math.min(top, end - clientHeight);
    this.#fill();
    return this.#made.get(at)?.node ?? null;
  }

  /** How many lines fit on the screen. @param {number} px of one */
  fitting(px) {
    return Math.max(1, Math.floor(this.#scroller.clientHeight / px));
  }

  /** @param {(item: T) => boolean} fits @returns {boolean} brought into the middle of the screen */
  reveal(fits) {
    const at = this.#lines.findIndex((line) => !line.head && fits(line.item));
    if (at < 0) return false;
    this.#scroller.scrollTop = (this.#tops[at] ?? 0) - this.#scroller.clientHeight / 2;
    return true;
  }

  #clear() {
    for (const { node, end } of this.#made.values()) {
      end.abort();
      node.remove();
    }
    this.#made.clear();
  }

  #fill() {
    this.#frame = 0;
    const from = this.#scroller.scrollTop - SPARE_PX;
    const to = this.#scroller.scrollTop + this.#scroller.clientHeight + SPARE_PX;
    let at = this.#indexAt(from);
    const first = at;
    for (; at < this.#lines.length && (this.#tops[at] ?? 0) < to; at += 1) if (!this.#made.has(at)) this.#put(at);
    for (const [index, { node, end }] of this.#made) {
      if ((index >= first && index < at) || node.contains(document.activeElement)) continue;
      end.abort();
      node.remove();
      this.#made.delete(index);
    }
  }

  /** @param {number} px @returns {number} the last line that starts at or above it */
  #indexAt(px) {
    let [low, high] = [0, this.#lines.length - 1];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if ((this.#tops[middle] ?? 0) <= px) low = middle;
      else high = middle - 1;
    }
    return Math.max(0, low);
  }

  /** @param {number} at */
  #put(at) {
    const line = this.#lines[at];
    if (!line) return;
    const end = new AbortController();
    const node = this.#make(line.item, end.signal);
    this.#place(node, at);
    // In reading order, so that Tab goes down the list.
    const after = [...this.#made.keys()].filter((index) => index > at).sort((a, b) => a - b)[0];
    this.#body.insertBefore(node, after === undefined ? null : (this.#made.get(after)?.node ?? null));
    this.#made.set(at, { node, end });
  }

  /** @param {HTMLElement} node @param {number} at */
  #place(node, at) {
    node.style.transform = `translateY(${this.#tops[at]}px)`;
    if (this.#lines[at]?.px) node.style.height = `${this.#lines[at].px}px`;
    if (node.role === 'row') {
      node.setAttribute('aria-rowindex', String(at + 2)); // the first is that of the headings
      return;
    }
    node.setAttribute('aria-setsize', String(this.#lines.length));
    node.setAttribute('aria-posinset', String(at + 1));
  }
}
