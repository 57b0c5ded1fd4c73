// @ts-check
import { h, mark, tickAt, write } from './dom.js';
import { late } from '../words/late.js';
import { makeDraggable } from './drag.js';

/** How the thumb is turned: `pan` and `tilt` the other way round, `swap` across and up. @typedef {{pan: boolean, tilt: boolean, swap: boolean}} Turn */

/**
 * A way of the thumb to the right and up, as a way of pan and tilt.
 * @param {Turn} turn @param {number} x @param {number} y @returns {[pan: number, tilt: number]}
 */
export function turned({ pan, tilt, swap }, x, y) {
  const [p, t] = swap ? [y, x] : [x, y];
  return [pan ? -p : p, tilt ? -t : t];
}

/**
 * Pan and tilt as a diamond on a floor grid. The thumb drags relatively, wherever it lands; `gain` says how much
 * of its way counts, `turn` which way; the diamond goes as the thumb does. Both values travel together, since 16 bit written in two halves would jump.
 *
 * Events, bubbling: `fc-grab`, `fc-move` {pan, tilt} with positions 0..1, `fc-done`, `fc-home` on a double tap.
 */
export class FcAim extends HTMLElement {
  #mark = h('i', { className: 'diamond' });
  #across = h('i', { className: 'across' });
  #up = h('i', { className: 'up' });
  #pan = h('input', { type: 'range', min: '0', max: '1', step: 'any', 'aria-label': late.aim.pan, oninput: () => this.#key() });
  #tilt = h('input', { type: 'range', min: '0', max: '1', step: 'any', 'aria-label': late.aim.tilt, oninput: () => this.#key() });
  #edges = ['left', 'right', 'top', 'bottom'].map((side) => h('span', { className: `edge ${side}`, 'aria-hidden': 'true' }));
  #floor = h('div', { className: 'floor' }, this.#across, this.#up, ...this.#edges, this.#mark, this.#pan, this.#tilt);
  #at = { pan: 0.5, tilt: 0.5 };
  #held = false;
  #words = h('p', { className: 'unseen' });

  gain = 1;
  /** @type {Turn} */ turn = { pan: false, tilt: false, swap: false };
  /** Where home is: the hand feels it, and the ends. */
  homes = { pan: 0.5, tilt: 0.5 };

  drop = makeDraggable(this.#floor, {
    flat: true,
    grab: () => (this.#held = this.#say('fc-grab')),
    move: (dx, dy) => {
      const across = this.#floor.clientWidth || 1;
      const up = this.#floor.clientHeight || 1;
      const [pan, tilt] = turned(this.turn, (dx * this.gain) / across, (-dy * this.gain) / up);
      this.ask(this.#at.pan + pan, this.#at.tilt + tilt);
    },
    done: (kept) => this.#done(kept),
    twice: () => this.#say('fc-home'),
  });

  connectedCallback() {
    if (this.#floor.parentElement) return;
    this.setAttribute('role', 'group');
    this.setAttribute('aria-label', late.aim.label);
    this.append(this.#floor, this.#words);
  }

  /** What stands at the left, right, top and bottom edge. @param {string[]} words */
  set edges(words) {
    this.#edges.forEach((edge, at) => write(edge, words[at] ?? ''));
  }

  /** @param {string | null} reason */
  set locked(reason) {
    mark(this, 'data-locked', reason);
    this.#pan.disabled = this.#tilt.disabled = reason !== null;
  }

  /**
   * @param {number} pan 0..1
   * @param {number} tilt 0..1
   * @param {{pan: string, tilt: string}} long in words
   * @param {string} drive
   * @param {boolean} asked
   */
  show(pan, tilt, long, drive, asked) {
    mark(this, 'data-drive', drive);
    mark(this, 'data-asked', asked);
    if (this.#held) return;
    this.#put(pan, tilt);
    this.#pan.value = String(pan);
    this.#tilt.value = String(tilt);
    this.#pan.setAttribute('aria-valuetext', long.pan);
    this.#tilt.setAttribute('aria-valuetext', long.tilt);
    write(this.#words, late.aim.both(long.pan, long.tilt));
  }

  /** Asks for a place, as one step of a thumb or a nudge. @param {number} pan @param {number} tilt */
  ask(pan, tilt) {
    const from = this.#at;
    this.#put(Math.min(1, Math.max(0, pan)), Math.min(1, Math.max(0, tilt)));
    tickAt(from.pan, this.#at.pan, this.homes.pan);
    tickAt(from.tilt, this.#at.tilt, this.homes.tilt);
    this.#say('fc-move', { ...this.#at });
  }

  /** One whole change: grab, move, done. @param {number} pan steps of 0..1 @param {number} tilt */
  nudge(pan, tilt) {
    if (!this.#say('fc-grab')) return;
    this.ask(this.#at.pan + pan, this.#at.tilt + tilt);
    this.#done();
  }

  /** @param {number} pan @param {number} tilt */
  #put(pan, tilt) {
    this.#at = { pan, tilt };
    const [p, t] = [this.turn.pan ? 1 - pan : pan, this.turn.tilt ? 1 - tilt : tilt];
    const [across, up] = this.turn.swap ? [t, p] : [p, t];
    const [x, y] = [(across * 100).toFixed(2), ((1 - up) * 100).toFixed(2)];
    // Each of these is as large as the floor, so a percentage of itself is a percentage of the floor.
    this.#mark.style.transform = `translate(${x}%, ${y}%)`;
    this.#across.style.transform = `translateY(${y}%)`;
    this.#up.style.transform = `translateX(${x}%)`;
  }

  /** @param {string} name @param {object} [detail] */
  #say(name, detail) {
    if (this.hasAttribute('data-locked') && name !== 'fc-done') return false;
    return this.dispatchEvent(new CustomEvent(name, { bubbles: true, cancelable: true, detail }));
  }

  #done(kept = true) {
    this.#held = false;
    if (kept) this.#say('fc-done');
  }

  #key() {
    const [pan, tilt] = [this.#pan.valueAsNumber, this.#tilt.valueAsNumber];
    if (!this.#say('fc-grab')) return;
    this.ask(pan, tilt);
    this.#done();
  }
}
customElements.define('fc-aim', FcAim);
