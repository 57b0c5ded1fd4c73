// @ts-check
import { h, keepTaps, mark, tick, write } from './dom.js';

const HOLD_MS = 1200;

/**
 * A button that must be held: the ring fills in 1.2 s, words say what will happen. Letting go, sliding off, a second
 * finger, losing focus and Escape all give up. On a keyboard: hold Space or Enter.
 *
 * Attributes: `label` what it does, `words` what will happen. Event: `fc-held`.
 */
export class FcHold extends HTMLElement {
  static observedAttributes = ['label', 'words'];
  #label = h('b', null);
  #words = h('span', null);
  #ring = h('i', { className: 'ring', 'aria-hidden': 'true' });
  #button = h('button', { type: 'button' }, this.#ring, h('span', { className: 'text' }, this.#label, this.#words));
  #timer = 0;
  #pointer = -1;

  connectedCallback() {
    if (this.#button.parentElement) return;
    this.append(this.#button);
    const button = this.#button;
    button.addEventListener('pointerdown', (event) => {
      if (this.#pointer >= 0) return this.#giveUp(); // a second finger
      if (event.button > 0) return;
      this.#pointer = event.pointerId;
      button.setPointerCapture(event.pointerId);
      this.#start();
    });
    button.addEventListener('pointermove', (event) => {
      const box = button.getBoundingClientRect();
      const off = event.clientX < box.left || event.clientX > box.right || event.clientY < box.top || event.clientY > box.bottom;
      if (off) this.#giveUp();
    });
    for (const name of ['pointerup', 'pointercancel', 'lostpointercapture', 'blur']) button.addEventListener(name, () => this.#giveUp());
    button.addEventListener('keydown', (event) => {
      if (event.key === 'Escape') this.#giveUp();
      if (event.key !== ' ' && event.key !== 'Enter') return;
      event.preventDefault();
      if (!event.repeat) this.#start();
    });
    button.addEventListener('keyup', () => this.#giveUp());
    button.addEventListener('contextmenu', (event) => event.preventDefault());
    keepTaps(button);
  }

  disconnectedCallback() {
    this.#giveUp();
  }

  attributeChangedCallback() {
    write(this.#label, this.getAttribute('label') ?? '');
    write(this.#words, this.getAttribute('words') ?? '');
  }

  /** @param {boolean} pressed shows that what it does is in force */
  set pressed(pressed) {
    mark(this.#button, 'aria-pressed', String(pressed));
  }

  /** @param {boolean} off */
  set disabled(off) {
    this.#button.disabled = off;
  }

  #start() {
    if (this.#button.disabled) return;
    clearTimeout(this.#timer);
    mark(this, 'data-held', '');
    this.#timer = window.setTimeout(() => {
      this.#giveUp();
      tick();
      this.dispatchEvent(new CustomEvent('fc-held', { bubbles: true }));
    }, HOLD_MS);
  }

  #giveUp() {
    clearTimeout(this.#timer);
    this.#timer = 0;
    this.#pointer = -1;
    mark(this, 'data-held', null);
  }
}
customElements.define('fc-hold', FcHold);

/**
 * @param {string} label
 * @param {string} words what will happen
 * @param {() => void} press
 */
export function holdButton(label, words, press) {
  const node = new FcHold();
  node.setAttribute('label', label);
  node.setAttribute('words', words);
  node.addEventListener('fc-held', press);
  return node;
}
