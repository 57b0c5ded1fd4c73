// @ts-check
/** A look takes what is in hand: first shown, control by control, then kept. */
import { h } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { fixture, modeOf, rig } from '../state/rig.js';
import { isOpen, fractionOf, valueText } from '../state/values.js';
import { wordsOf } from '../state/words.js';
import { spoken } from '../words/call.js';
import { words } from '../words/words.js';

const WORDS = spoken.update;

/** @typedef {{fixture: string, control: string, was: number | null, now: number}} Change */

/** @param {string} id @param {string} name */
export async function askUpdate(id, name) {
  const path = `/api/looks/${encodeURIComponent(id)}/hand`;
  /** @type {Change[]} */
  const changes = await call('GET', path).catch((/** @type {Error} */ error) => (say(error.message), null));
  if (!changes) return;
  if (!changes.length) return say(WORDS.nothing);
  /** @type {Record<string, Record<string, number>>} */
  const wanted = {};
  for (const { fixture: unit, control, now } of changes) wanted[unit] = { ...wanted[unit], [control]: now };
  const rows = Object.keys(wanted).filter((unit) => rig.fixtures.has(unit)).map((unit) => {
    const lines = changes.filter((one) => one.fixture === unit).map((one) => h('li', null, h('span', null, called(one)), h('span', null, one.was === null ? WORDS.none : shown(one, one.was)), h('b', null, `\u2192 ${shown(one, one.now)}`)));
    return h('section', null, h('h2', null, String(fixture(unit).channel ?? '\u2013'), ' ', h('small', null, words.fixture.place(fixture(unit).position, fixture(unit).unit))), h('ul', { className: 'differs' }, ...lines));
  });
  const keep = () => {
    dialog.close();
    void call('POST', path, { wanted }).catch((/** @type {Error} */ error) => say(error.message));
  };
  const dialog = h('dialog', { className: 'look-update', 'aria-label': WORDS.title(name) }, h('h2', null, WORDS.title(name)), h('div', { className: 'list' }, ...rows),
    h('div', { className: 'ends' }, h('button', { type: 'button', onclick: () => dialog.close() }, words.keypad.notNow), h('button', { type: 'button', className: 'main', onclick: keep }, WORDS.keep(changes.length))));
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

/** @param {Change} one */
function controlOf(one) {
  const mode = modeOf(fixture(one.fixture));
  return { mode, control: mode?.controls.find(({ key }) => key === one.control) };
}

/** @param {Change} one */
function called(one) {
  const { control } = controlOf(one);
  return control ? `${wordsOf(control.attribute)}${control.cell ? ` ${control.cell}` : ''}` : one.control;
}

/** @param {Change} one @param {number} raw */
function shown(one, raw) {
  const { mode, control } = controlOf(one);
  if (!mode || !control) return String(raw);
  const values = fixture(one.fixture).values;
  const fn = control.functions.find((each) => each.dmx[0] <= raw && raw <= each.dmx[1] && isOpen(each, mode, (key) => values[key] ?? 0));
  const range = fn?.ranges?.find((each) => each.dmx[0] <= raw && raw <= each.dmx[1] && each.name);
  return range ? range.name : valueText(control, fn, fractionOf(control, raw)).short;
}
