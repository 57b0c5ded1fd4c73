// @ts-check
import { h, mark, tickAt, write } from './dom.js';
import { words } from '../words/words.js';
import { makeDraggable } from './drag.js';

/** @typedef {'hand' | 'other' | 'look' | 'follow' | 'guard' | 'home'} Drive  who drives it, shown as hatching */

/**
 * One control as a hatched column under a chalk line. It shows what it is told and asks for what the thumb,
 * the keys and the nudge buttons say; it decides nothing. Positions are 0..1 of the column.
 *
 * Events, bubbling: `fc-grab` before a change (cancel it to give the change up), `fc-move` {position, by} at most
 * once a frame, `by` being what the thumb asked for beyond the ends too, `fc-done` after it, `fc-home` on a double tap, `fc-type` when the number is pressed.
 */
export class FcFader extends HTMLElement {
  #name = h('span', { className: 'name' });
  #number = h('button', { type: 'button', className: 'number', onclick: () => this.#say('fc-type') });
  #fill = h('i', { className: 'fill' });
  #low = h('i', { className: 'lowest', hidden: true });
  #beyond = ['top', 'bottom'].map((end) => h('i', { className: `beyond ${end}` }));
  #limits = [0, 1];
  #bar = h('input', { type: 'range', min: '0', max: '1', step: 'any', oninput: () => this.#key() });
  #track = h('div', { className: 'track' }, this.#fill, this.#bar);
  #more = h('button', { type: 'button', className: 'nudge up', textContent: '+', onclick: () => this.#nudge(1) });
  #less = h('button', { type: 'button', className: 'nudge down', textContent: '\u2212', onclick: () => this.#nudge(-1) });
  #position = 0;
  #held = false;
  #told = 0;

  /** Where home is, 0..1: the hand feels it, and both ends. @type {number | null} */
  home = null;
  /** How far one nudge goes, 0..1. */
  step = 0.01;
  /** Share of a thumb's way that counts: 1 coarse. */
  gain = 1;

  /** Ends a drag under way, as when somebody else takes the light. */
  drop = makeDraggable(this.#track, {
    grab: () => (this.#held = this.#say('fc-grab')),
    move: (_, dy, gain) => this.#ask(this.#position - (dy * gain * this.gain) / (this.#track.clientHeight || 1)),
    done: (kept) => this.#done(kept),
    twice: () => this.#say('fc-home'),
  });

  connectedCallback() {
    if (this.#track.parentElement) return; // called again when the element is moved
    this.append(this.#name, this.#number, this.#more, this.#track, this.#less);
  }

  /** @param {string} label */
  set label(label) {
    write(this.#name, label);
    this.#bar.setAttribute('aria-label', label);
    this.#number.setAttribute('aria-label', words.fader.type(label));
    this.#more.setAttribute('aria-label', words.fader.up(label));
    this.#less.setAttribute('aria-label', words.fader.down(label));
  }

  /** @param {string | null} reason why it cannot be driven, or null */
  set locked(reason) {
    mark(this, 'data-locked', reason);
    for (const part of [this.#bar, this.#more, this.#less, this.#number]) part.disabled = reason !== null;
  }

  /**
   * @param {number} position 0..1
   * @param {{short: string, long: string}} text
   * @param {Drive} drive
   * @param {boolean} asked not yet answered by the server
   */
  show(position, text, drive, asked) {
    write(this.#number, text.short);
    mark(this, 'data-drive', drive);
    mark(this, 'data-asked', asked);
    if (!this.#held) this.place(position); // never pull the column from under a thumb
    const now = performance.now();
    if (this.#held && now - this.#told < 250) return; // readers aloud hear it four times a second at most
    this.#told = now;
    this.#bar.value = String(position);
    this.#bar.setAttribute('aria-valuetext', text.long);
  }

  /** For several fixtures at once: where the lowest of them is; `show` says where the highest is. @param {number | null} position */
  set lowest(position) {
    this.#low.hidden = position === null;
    if (!this.#low.parentElement) this.#track.append(this.#low);
    this.#low.style.transform = `translateY(${((1 - (position ?? 0)) * 100).toFixed(2)}%)`;
  }

  /** What lies outside of these is out of reach: hatched, and a thumb ends there. @param {[number, number]} limits 0..1 */
  set limits(limits) {
    this.#limits = limits;
    if (!this.#beyond[0]?.parentElement) this.#track.append(...this.#beyond);
    this.#beyond.forEach((node, at) => (node.style.height = `${((at ? limits[0] : 1 - limits[1]) * 100).toFixed(2)}%`));
  }

  /** @param {number} position 0..1, also under a thumb */
  place(position) {
    this.#position = position;
    this.#fill.style.transform = `translateY(${((1 - position) * 100).toFixed(2)}%)`;
  }

  /** @param {string} name @param {object} [detail] @returns {boolean} false when somebody cancelled it */
  #say(name, detail) {
    if (this.hasAttribute('data-locked') && name !== 'fc-done') return false;
    return this.dispatchEvent(new CustomEvent(name, { bubbles: true, cancelable: true, detail }));
  }

  /** @param {number} position */
  #ask(position) {
    const [from, by] = [this.#position, position - this.#position];
    const [low = 0, high = 1] = this.#limits;
    this.place(Math.min(high, Math.max(low, position)));
    tickAt(from, this.#position, this.home);
    this.#say('fc-move', { position: this.#position, by });
  }

  #done(kept = true) {
    this.#held = false;
    if (kept) this.#say('fc-done');
  }

  /** @param {number} way */
  #nudge(way) {
    if (!this.#say('fc-grab')) return;
    // To the next whole step: a control of few steps would drift away from 5, 10, 15.
    const steps = this.#position / this.step;
    this.#ask((way > 0 ? Math.floor(steps + 0.25) + 1 : Math.ceil(steps - 0.25) - 1) * this.step);
    this.#done();
  }

  #key() {
    const wanted = this.#bar.valueAsNumber;
    if (!this.#say('fc-grab')) {
      this.#bar.value = String(this.#position);
      return;
    }
    this.#ask(wanted);
    this.#done();
  }
}
customElements.define('fc-fader', FcFader);
