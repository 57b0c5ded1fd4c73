// @ts-check
import { h, mark, write } from './dom.js';
import { makeDraggable } from './drag.js';

/**
 * Pan and tilt as a diamond on a floor grid. The thumb drags relatively, wherever it lands; `gain` says how much
 * of its way counts. Both values travel together, since 16 bit written in two halves would jump.
 *
 * Events, bubbling: `fc-grab`, `fc-move` {pan, tilt} with positions 0..1, `fc-done`, `fc-home` on a double tap.
 */
export class FcAim extends HTMLElement {
  #mark = h('i', { className: 'diamond' });
  #across = h('i', { className: 'across' });
  #up = h('i', { className: 'up' });
  #pan = h('input', { type: 'range', min: '0', max: '1', step: 'any', 'aria-label': 'Pan', oninput: () => this.#key() });
  #tilt = h('input', { type: 'range', min: '0', max: '1', step: 'any', 'aria-label': 'Tilt', oninput: () => this.#key() });
  #floor = h('div', { className: 'floor' }, this.#across, this.#up, this.#mark, this.#pan, this.#tilt);
  #at = { pan: 0.5, tilt: 0.5 };
  #held = false;
  #words = h('p', { className: 'unseen' });

  gain = 1;

  drop = makeDraggable(this.#floor, {
    flat: true,
    grab: () => (this.#held = this.#say('fc-grab')),
    move: (dx, dy) => {
      const across = this.#floor.clientWidth || 1;
      const up = this.#floor.clientHeight || 1;
      this.ask(this.#at.pan + (dx * this.gain) / across, this.#at.tilt - (dy * this.gain) / up);
    },
    done: (kept) => this.#done(kept),
    twice: () => this.#say('fc-home'),
  });

  connectedCallback() {
    if (this.#floor.parentElement) return;
    this.setAttribute('role', 'group');
    this.setAttribute('aria-label', 'Aim');
    this.append(this.#floor, this.#words);
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
    write(this.#words, `Pan ${long.pan}, tilt ${long.tilt}`);
  }

  /** Asks for a place, as one step of a thumb or a nudge. @param {number} pan @param {number} tilt */
  ask(pan, tilt) {
    this.#put(Math.min(1, Math.max(0, pan)), Math.min(1, Math.max(0, tilt)));
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
    const [x, y] = [(pan * 100).toFixed(2), ((1 - tilt) * 100).toFixed(2)];
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
