// @ts-check
/** Keeping what a console shows as a look: of which universes, and how many fixtures that is. */
import { h, mark, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { spoken } from '../words/call.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';

/** @typedef {{universe: number, names: string[], fixtures: string[]}} Shown */
/** @typedef {(title: string, name: string, done: (name: string) => void, more?: HTMLElement[], wrong?: () => string) => void} AskName */

/** @returns {Promise<Shown[]>} */
const heard = () => call('GET', '/api/looks/console');

/**
 * Show the button while a console is heard, and ask by it.
 * @param {HTMLButtonElement} button
 * @param {AskName} askName
 * @param {AbortSignal} signal
 */
export function offer(button, askName, signal) {
  const look = () => void heard().then((all) => (button.hidden = !all.length), () => {});
  const timer = window.setInterval(() => !document.hidden && look(), 5000);
  signal.addEventListener('abort', () => clearInterval(timer));
  button.onclick = () => void heard().then((all) => ask(all, askName)).catch((/** @type {Error} */ error) => say(error.message));
  look();
}

/** @param {Shown[]} all @param {AskName} askName */
function ask(all, askName) {
  const which = h('output', { className: 'hint' });
  const picks = all.map(({ universe, names, fixtures }) => {
    const pick = h('button', { type: 'button', 'aria-pressed': String(fixtures.length > 0), disabled: !fixtures.length, onclick: () => (mark(pick, 'aria-pressed', String(pick.getAttribute('aria-pressed') !== 'true')), draw()) },
      h('b', null, late.slots.universeN(universe)), h('small', null, `${names.join(', ')} · ${words.count.fixtures(fixtures.length)}`));
    return { pick, universe, fixtures };
  });
  const chosen = () => picks.filter(({ pick }) => pick.getAttribute('aria-pressed') === 'true');
  const draw = () => write(which, spoken.theirs.willKeep(words.count.fixtures(new Set(chosen().flatMap(({ fixtures }) => fixtures)).size)));
  draw();
  askName(spoken.theirs.keep, '', (name) => {
    const universes = chosen().map(({ universe }) => universe);
    void call('POST', '/api/looks', { name, from: 'console', universes }).catch((/** @type {Error} */ error) => say(error.message));
  }, [h('div', { className: 'choice shown' }, ...picks.map(({ pick }) => pick)), which], () => (chosen().length ? '' : spoken.looks.none));
}
