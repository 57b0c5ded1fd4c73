// @ts-check
import { POINT, words } from '../words/words.js';
import { h, write } from './dom.js';

/**
 * A way of saying a number: percent, 0-255, degrees. `read` answers the value or a sentence why not.
 * @typedef {{name: string, start: string, signed?: boolean, read: (typed: number) => number | string, chosen?: () => void}} Scale
 */

/**
 * A number pad over the page. Resolves to what the scale read, or null when given up.
 * @param {string} title
 * @param {Scale[]} scales the first is shown first
 * @param {string} [go] word on the button
 * @returns {Promise<number | null>}
 */
export function askNumber(title, scales, go = words.keypad.set) {
  // Gloves fire twice, and the first time this module is still on its way: one pad, not two.
  if (document.querySelector('.keypad[open]')) return Promise.resolve(null);
  return new Promise((answer) => {
    let scale = /** @type {Scale} */ (scales[0]);
    let typed = '';
    const shown = h('output', { className: 'typed' });
    const why = h('p', { className: 'why', role: 'alert' });
    const draw = () => {
      write(shown, typed.replace('.', POINT).replace('-', '\u2212') || scale.start);
      shown.toggleAttribute('data-empty', !typed);
      for (const key of keys) if (key.dataset.key === '\u2212') key.disabled = !scale.signed;
      for (const [at, tab] of tabs.entries()) tab.setAttribute('aria-pressed', String(scales[at] === scale));
    };
    const press = (/** @type {string} */ key) => {
      write(why, '');
      if (key === 'back') typed = typed.slice(0, -1);
      else if (key === '\u2212') typed = typed.startsWith('-') ? typed.slice(1) : `-${typed}`;
      else if (key !== '.' || !typed.includes('.')) typed = typed.length < 9 ? typed + key : typed;
      draw();
    };
    const enter = () => {
      const number = Number(typed);
      const read = typed && Number.isFinite(number) ? scale.read(number) : words.keypad.first;
      if (typeof read === 'string') return write(why, read);
      close(read);
    };
    const close = (/** @type {number | null} */ value) => {
      dialog.close();
      dialog.remove();
      answer(value);
    };
    const tabs = scales.map((one) => h('button', { type: 'button', onclick: () => (one.chosen?.(), (scale = one), (typed = ''), write(why, ''), draw()) }, one.name));
    const keys = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', '\u2212'].map((key) =>
      h('button', { type: 'button', className: 'key', 'data-key': key, 'aria-label': key === '\u2212' ? words.keypad.minus : null, onclick: () => press(key) }, key === '.' ? POINT : key),
    );
    const dialog = h(
      'dialog',
      { className: 'keypad', 'aria-label': title },
      h('h2', null, title),
      scales.length > 1 ? h('div', { className: 'choice' }, ...tabs) : null,
      h('div', { className: 'entry' }, shown, h('button', { type: 'button', className: 'back', onclick: () => press('back') }, words.keypad.rubOut)),
      why,
      h('div', { className: 'keys' }, ...keys),
      h('div', { className: 'ends' }, h('button', { type: 'button', onclick: () => close(null) }, words.keypad.notNow), h('button', { type: 'button', className: 'main', onclick: enter }, go)),
    );
    dialog.addEventListener('keydown', (event) => {
      if (/^[0-9.]$/.test(event.key)) press(event.key);
      else if (event.key === ',') press('.');
      else if (event.key === '-') press('\u2212');
      else if (event.key === 'Backspace') press('back');
      else if (event.key === 'Enter') enter();
      else return;
      event.preventDefault();
    });
    dialog.addEventListener('cancel', (event) => {
      event.preventDefault();
      close(null);
    });
    document.body.append(dialog);
    draw();
    dialog.showModal();
  });
}
