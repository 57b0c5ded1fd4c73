// @ts-check
/** Sentences where the thumb is: refusals, questions, what did not arrive. One at a time, the newest wins. */
import { words } from '../words/words.js';
import { h } from './dom.js';

/** @typedef {{label: string, hold?: string, main?: boolean, press: () => void}} Answer  hold: words, when it must be held */

const PLAIN_MS = 7000;
const BOUNCE_MS = 400; // a glove's second touch is no answer (common practice, no source)
let thumbY = innerHeight * 0.6;
let timer = 0;
let since = 0;
const box = h('div', { id: 'say', role: 'alert', hidden: true });
document.body.append(box); // there before it speaks, or it is not heard

addEventListener(
  'pointerdown',
  (event) => {
    if (box.contains(/** @type {Node} */ (event.target))) return;
    thumbY = event.clientY;
    // Read, or not wanted: the thumb has gone on.
    if (box.dataset.asks === undefined || (box.dataset.brief !== undefined && performance.now() - since > BOUNCE_MS)) hush();
  },
  { capture: true, passive: true },
);

/** Takes the sentence away. */
export function hush() {
  clearTimeout(timer);
  box.replaceChildren();
  box.hidden = true;
}

/** A button that must be held; what makes it one comes when it is first wanted. @param {string} label @param {string} words @param {() => void} press */
function held(label, words, press) {
  void import('./fc-hold.js').catch(() => null);
  const node = document.createElement('fc-hold');
  node.setAttribute('label', label);
  node.setAttribute('words', words);
  node.addEventListener('fc-held', press);
  return node;
}

/** A thumb that has held is still down: what lies under the box must not meet it when it goes. */
function leave() {
  const [was, end] = [since, new AbortController()];
  const gone = () => {
    end.abort();
    setTimeout(() => was === since && hush(), BOUNCE_MS);
  };
  for (const name of ['pointerup', 'pointercancel', 'keyup']) addEventListener(name, gone, { capture: true, signal: end.signal });
}

/**
 * @param {string} sentence
 * @param {Answer[]} [answers] with answers it stays until one is pressed
 * @param {number} [ms] or so long
 */
export function say(sentence, answers = [], ms = 0) {
  clearTimeout(timer);
  const quiet = h('button', { type: 'button', onclick: hush }, answers.length ? words.app.leaveIt : words.app.read);
  const buttons = answers.map(({ label, hold, main, press }) => {
    const go = () => {
      if (ms && performance.now() - since < BOUNCE_MS) return;
      hush();
      press();
    };
    if (hold === undefined) return h('button', { type: 'button', className: main ? 'main' : '', onclick: go }, label);
    return held(label, hold, () => {
      press();
      leave();
    });
  });
  box.hidden = false;
  since = performance.now();
  box.toggleAttribute('data-asks', answers.length > 0);
  box.toggleAttribute('data-brief', ms > 0);
  box.replaceChildren(h('p', null, sentence), h('div', { className: 'answers' }, ...buttons, !ms && quiet));
  // Just above the thumb, never off the screen.
  const high = Math.max(8, Math.min(thumbY - box.offsetHeight - 28, innerHeight - box.offsetHeight - 80));
  box.style.transform = `translateY(${Math.round(high)}px)`;
  if (ms || !answers.length) timer = window.setTimeout(hush, ms || PLAIN_MS);
}
