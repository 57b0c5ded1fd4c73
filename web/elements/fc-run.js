// @ts-check
import { h, keepTaps, mark, tick, write } from './dom.js';

const AGAIN_MS = 400; // the server stops what it has not heard of for a second
const LONGEST_MS = 10_000; // and whatever is held, after this

/**
 * A button that runs something for as long as it is held, ten seconds at the longest: the ring fills meanwhile. Letting go,
 * sliding off, a second finger anywhere, losing focus, a page that is put away and Escape all end it. On a keyboard: hold
 * Space or Enter.
 *
 * Attributes: `label` what it does, `words` what will happen. Event: `fc-run` {on, press} at once, every 0.4 s while it is
 * held, and with `on` false at the end; `press` is another number for each press.
 */
export class FcRun extends HTMLElement {
  static observedAttributes = ['label', 'words'];
  static #press = Math.floor(Math.random() * 2 ** 31);
  #label = h('b', null);
  #words = h('span', null);
  #left = h('span', { className: 'left', 'aria-hidden': 'true' });
  #button = h('button', { type: 'button' }, h('i', { className: 'ring', 'aria-hidden': 'true' }, this.#left), h('span', { className: 'text' }, this.#label, this.#words));
  #timer = 0;
  #pointer = -1;
  #began = 0;
  #watch = new AbortController();

  connectedCallback() {
    if (this.#button.parentElement) return;
    this.append(this.#button);
    const button = this.#button;
    button.addEventListener('pointerdown', (event) => {
      if (event.button > 0 || this.#timer) return; // a second finger: ended by the window's listener
      this.#pointer = event.pointerId;
      button.setPointerCapture(event.pointerId);
      this.#start();
    });
    button.addEventListener('pointermove', (event) => {
      const box = button.getBoundingClientRect();
      if (event.clientX < box.left || event.clientX > box.right || event.clientY < box.top || event.clientY > box.bottom) this.stop();
    });
    for (const name of ['pointerup', 'pointercancel', 'lostpointercapture', 'blur', 'keyup']) button.addEventListener(name, () => this.stop());
    button.addEventListener('keydown', (event) => {
      if (event.key === 'Escape') this.stop();
      if (event.key !== ' ' && event.key !== 'Enter') return;
      event.preventDefault();
      if (!event.repeat && !this.#timer) this.#start();
    });
    button.addEventListener('contextmenu', (event) => event.preventDefault());
    keepTaps(button);
  }

  disconnectedCallback() {
    this.stop();
  }

  attributeChangedCallback() {
    write(this.#label, this.getAttribute('label') ?? '');
    write(this.#words, this.getAttribute('words') ?? '');
  }

  /** @param {boolean} off */
  set disabled(off) {
    if (off) this.stop();
    this.#button.disabled = off;
  }

  /** Ends it, as when the server says no. */
  stop() {
    if (!this.#timer) return;
    clearInterval(this.#timer);
    this.#timer = 0;
    this.#pointer = -1;
    this.#watch.abort();
    mark(this, 'data-held', null);
    write(this.#left, '');
    this.#say(false);
  }

  #start() {
    if (this.#button.disabled) return;
    FcRun.#press += 1;
    this.#began = performance.now();
    const { signal } = (this.#watch = new AbortController());
    addEventListener('pointerdown', (event) => event.pointerId !== this.#pointer && this.stop(), { capture: true, signal });
    addEventListener('pagehide', () => this.stop(), { signal });
    addEventListener('blur', () => this.stop(), { signal });
    document.addEventListener('visibilitychange', () => document.visibilityState === 'hidden' && this.stop(), { signal });
    mark(this, 'data-held', '');
    tick();
    this.#timer = window.setInterval(() => this.#hold(), AGAIN_MS);
    this.#count();
    this.#say(true);
  }

  #hold() {
    if (performance.now() - this.#began >= LONGEST_MS) return this.stop();
    this.#count();
    this.#say(true);
  }

  #count() {
    write(this.#left, String(Math.ceil((LONGEST_MS - (performance.now() - this.#began)) / 1000)));
  }

  /** @param {boolean} on */
  #say(on) {
    this.dispatchEvent(new CustomEvent('fc-run', { bubbles: true, detail: { on, press: FcRun.#press } }));
  }
}
customElements.define('fc-run', FcRun);
