// @ts-check
/** A value that tells its readers, once per frame drawn however often it was set. */

/** @type {Set<Cell<any>>} */
const changed = new Set();
let frame = 0;

function tellAll() {
  frame = 0;
  const now = [...changed];
  changed.clear();
  for (const cell of now) cell.tell();
}

/** @template T */
export class Cell {
  /** @type {T} */ #value;
  /** @type {Set<(value: T) => void>} */ #readers = new Set();

  /** @param {T} value */
  constructor(value) {
    this.#value = value;
  }

  get value() {
    return this.#value;
  }

  set value(value) {
    this.#value = value;
    this.touch();
  }

  /** The value was changed from inside: tell the readers at the next frame. */
  touch() {
    if (!this.#readers.size) return;
    changed.add(this);
    frame ||= requestAnimationFrame(tellAll);
  }

  tell() {
    for (const reader of [...this.#readers]) reader(this.#value);
  }

  /**
   * Calls `reader` now and after every change, until `signal` ends it.
   * @param {(value: T) => void} reader
   * @param {AbortSignal} signal
   */
  read(reader, signal) {
    if (signal.aborted) return;
    this.#readers.add(reader);
    signal.addEventListener('abort', () => this.#readers.delete(reader), { once: true });
    reader(this.#value);
  }
}
