// @ts-check
/** Sentences where the thumb is: refusals, questions, what did not arrive. One at a time, the newest wins. */
import { h } from './dom.js';
import { holdButton } from './fc-hold.js';

/** @typedef {{label: string, hold?: string, main?: boolean, press: () => void}} Answer  hold: words, when it must be held */

const PLAIN_MS = 7000;
let thumbY = innerHeight * 0.6;
let timer = 0;
const box = h('div', { id: 'say', role: 'alert', hidden: true });
document.body.append(box); // there before it speaks, or it is not heard

addEventListener(
  'pointerdown',
  (event) => {
    if (box.contains(/** @type {Node} */ (event.target))) return;
    thumbY = event.clientY;
    if (!box.hasAttribute('data-asks')) hush(); // read, or not wanted: the thumb has gone on
  },
  { capture: true, passive: true },
);

/** Takes the sentence away. */
export function hush() {
  clearTimeout(timer);
  box.replaceChildren();
  box.hidden = true;
}

/**
 * @param {string} sentence
 * @param {Answer[]} [answers] with answers it stays until one is pressed
 */
export function say(sentence, answers = []) {
  clearTimeout(timer);
  const quiet = h('button', { type: 'button', onclick: hush }, answers.length ? 'Leave it' : 'OK');
  const buttons = answers.map(({ label, hold, main, press }) => {
    const go = () => {
      hush();
      press();
    };
    if (hold === undefined) return h('button', { type: 'button', className: main ? 'main' : '', onclick: go }, label);
    return holdButton(label, hold, go);
  });
  box.hidden = false;
  box.toggleAttribute('data-asks', answers.length > 0);
  box.replaceChildren(h('p', null, sentence), h('div', { className: 'answers' }, ...buttons, quiet));
  // Just above the thumb, never off the screen.
  const high = Math.max(8, Math.min(thumbY - box.offsetHeight - 28, innerHeight - box.offsetHeight - 80));
  box.style.transform = `translateY(${Math.round(high)}px)`;
  if (!answers.length) timer = window.setTimeout(hush, PLAIN_MS);
}
