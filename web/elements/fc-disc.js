// @ts-check
import { colourWords } from '../state/words.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { h, mark } from './dom.js';
import { makeDraggable } from './drag.js';

/**
 * Hue round, saturation outwards: the only disc on the page. Dragged relatively like everything else.
 *
 * Events, bubbling: `fc-grab`, `fc-move` {hue, saturation}, `fc-done`, `fc-home` on a double tap.
 */
export class FcDisc extends HTMLElement {
  #mark = h('i', { className: 'diamond' });
  #hue = h('input', { type: 'range', min: '0', max: '360', step: '1', 'aria-label': late.disc.hue, oninput: () => this.#key() });
  #saturation = h('input', { type: 'range', min: '0', max: '1', step: '0.01', 'aria-label': late.disc.saturation, oninput: () => this.#key() });
  #names = ['red', 'yellow', 'green', 'cyan', 'blue', 'magenta'].map((name, at) => h('span', { className: `hue ${name}`, 'aria-hidden': 'true' }, late.disc.names[at]));
  #disc = h('div', { className: 'disc' }, ...this.#names, this.#mark, this.#hue, this.#saturation);
  #x = 0;
  #y = 0;
  #held = false;

  drop = makeDraggable(this.#disc, {
    flat: true,
    grab: () => (this.#held = this.#say('fc-grab')),
    move: (dx, dy) => {
      const radius = (this.#disc.clientWidth || 2) / 2;
      this.#ask(this.#x + dx / radius, this.#y + dy / radius);
    },
    done: (kept) => this.#done(kept),
    twice: () => this.#say('fc-home'),
  });

  connectedCallback() {
    if (this.#disc.parentElement) return;
    this.setAttribute('role', 'group');
    this.setAttribute('aria-label', late.disc.label);
    this.append(this.#disc);
  }

  /** @param {string | null} reason */
  set locked(reason) {
    mark(this, 'data-locked', reason);
    this.#hue.disabled = this.#saturation.disabled = reason !== null;
  }

  /** @param {number} hue degrees @param {number} saturation 0..1 @param {string} drive @param {boolean} asked */
  show(hue, saturation, drive, asked) {
    mark(this, 'data-drive', drive);
    mark(this, 'data-asked', asked);
    if (this.#held) return;
    const turn = (hue * Math.PI) / 180;
    this.#put(saturation * Math.cos(turn), saturation * Math.sin(turn));
    this.#hue.value = String(hue);
    this.#saturation.value = String(saturation);
    this.#hue.setAttribute('aria-valuetext', colourWords(hue, 1));
    this.#saturation.setAttribute('aria-valuetext', words.values.percent(String(Math.round(saturation * 100))));
  }

  /** @param {number} x @param {number} y both -1..1 from the middle */
  #put(x, y) {
    const far = Math.max(1, Math.hypot(x, y));
    [this.#x, this.#y] = [x / far, y / far];
    this.#mark.style.transform = `translate(${(50 + this.#x * 50).toFixed(2)}%, ${(50 + this.#y * 50).toFixed(2)}%)`;
  }

  /** @param {number} x @param {number} y */
  #ask(x, y) {
    this.#put(x, y);
    const hue = ((Math.atan2(this.#y, this.#x) * 180) / Math.PI + 360) % 360;
    this.#say('fc-move', { hue, saturation: Math.hypot(this.#x, this.#y) });
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
    const turn = (this.#hue.valueAsNumber * Math.PI) / 180;
    const saturation = this.#saturation.valueAsNumber;
    if (!this.#say('fc-grab')) return;
    this.#ask(saturation * Math.cos(turn), saturation * Math.sin(turn));
    this.#done();
  }
}
customElements.define('fc-disc', FcDisc);
