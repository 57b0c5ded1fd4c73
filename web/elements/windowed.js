// @ts-check
/**
 * A long list of which only the rows near the screen exist. Two heights: lines (the fixtures) and heads (positions).
 * The focused row is never taken away.
 */
const SPARE_PX = 320;

/** @template T @typedef {{head: boolean, item: T}} Line */

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
    this.#clear();
    this.#lines = lines;
    this.#tops = [0];
    for (const [at, line] of lines.entries()) this.#tops.push((this.#tops[at] ?? 0) + (line.head ? head : row));
    this.#body.style.height = `${this.#tops.at(-1)}px`;
    this.#fill();
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
    node.style.transform = `translateY(${this.#tops[at]}px)`;
    node.setAttribute('aria-setsize', String(this.#lines.length));
    node.setAttribute('aria-posinset', String(at + 1));
    // In reading order, so that Tab goes down the list.
    const after = [...this.#made.keys()].filter((index) => index > at).sort((a, b) => a - b)[0];
    this.#body.insertBefore(node, after === undefined ? null : (this.#made.get(after)?.node ?? null));
    this.#made.set(at, { node, end });
  }
}
