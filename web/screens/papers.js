// @ts-check
/** What goes onto paper: lists of the rig, and labels for its units. */
import { h, mark, write } from '../elements/dom.js';
import { Cell } from '../state/cell.js';
import { keep, kept, prefs } from '../state/prefs.js';
import { fixture, rig } from '../state/rig.js';
import { onShow } from '../words/show.js';
import { language } from '../words/words.js';

const WORDS = onShow.papers;
const PAPERS = /** @type {const} */ (['hookup', 'schedule', 'addresses', 'focus', 'focus-blank', 'faults']);
/** Labels on a sheet, by the laptop's name for it; of a roll each is one. */
const STOCKS = { 'a4-24': 24, 'a4-21': 21, 'letter-30': 30, roll: 1 };
/** In millimetres, as the laptop takes them. */
const ROLL = { width: { start: '62', least: 20, most: 300 }, height: { start: '40', least: 12, most: 300 } };

/** @param {AbortSignal} signal */
export function makePapers(signal) {
  const folded = h('details', { className: 'papers' }, h('summary', null, WORDS.title));
  folded.addEventListener('toggle', () => folded.append(...makeAll(signal)), { once: true, signal });
  return folded;
}

/** @param {AbortSignal} signal */
function makeAll(signal) {
  const size = new Cell(kept('paper-size', 'a4'));
  const tongue = new Cell(/** @type {string} */ (language));
  return [
    choice(WORDS.size, size, [['a4', WORDS.a4], ['letter', WORDS.letter]], signal, 'paper-size'),
    choice(WORDS.language, tongue, [['en', 'English'], ['de', 'Deutsch']], signal),
    makeLists(size, tongue, signal),
    makeLabels(tongue, signal),
  ];
}

/** @param {Cell<string>} size @param {Cell<string>} tongue @param {AbortSignal} signal */
function makeLists(size, tongue, signal) {
  const links = PAPERS.map((name) => h('a', { className: 'button', download: `${name}.pdf` }, WORDS.papers[name]));
  const draw = () => links.forEach((link, at) => (link.href = `/api/papers/${PAPERS[at]}.pdf?${new URLSearchParams({ size: size.value, language: tongue.value })}`));
  size.read(draw, signal);
  tongue.read(draw, signal);
  return h('div', { className: 'choice lists', role: 'group', 'aria-label': WORDS.title }, ...links);
}

/** @param {Cell<string>} tongue @param {AbortSignal} signal */
function makeLabels(tongue, signal) {
  const stock = new Cell(kept('label-stock', 'a4-24'));
  const where = new Cell('all');
  const skip = field('label-skip', WORDS.skip, '0');
  const width = field('label-width', WORDS.width, kept('label-width', ROLL.width.start));
  const height = field('label-height', WORDS.height, kept('label-height', ROLL.height.start));
  const roll = h('div', { className: 'roll' }, width.node, height.node);
  const wrong = h('p', { className: 'why', role: 'status' });
  const go = h('a', { className: 'button main', download: 'labels.pdf' });
  const whose = h('div', { className: 'chips', role: 'group', 'aria-label': WORDS.which });
  const draw = () => {
    const ids = chosen(where.value);
    const each = STOCKS[/** @type {keyof typeof STOCKS} */ (stock.value)] ?? 1;
    const isRoll = stock.value === 'roll';
    roll.hidden = !isRoll;
    skip.node.hidden = isRoll;
    const [wide, high, used] = [width, height, skip].map(({ input }) => Number(input.value.replace(',', '.') || NaN));
    const fits = (/** @type {number | undefined} */ mm, /** @type {{least: number, most: number}} */ { least, most }) => mm !== undefined && mm >= least && mm <= most;
    const why = isRoll
      ? fits(wide, ROLL.width) && fits(high, ROLL.height) ? '' : WORDS.wrongSize(ROLL.width, ROLL.height)
      : used !== undefined && Number.isInteger(used) && used >= 0 && used < each ? '' : WORDS.wrongSkip(each - 1);
    write(wrong, why);
    write(go, WORDS.go(ids.length));
    const off = !!why || !ids.length;
    mark(go, 'aria-disabled', off ? 'true' : null);
    mark(go, 'href', off ? null : `/api/papers/labels.pdf?${asked(ids)}`);
  };
  const asked = (/** @type {string[]} */ ids) => {
    const query = new URLSearchParams({ stock: stock.value, language: tongue.value });
    if (stock.value === 'roll') for (const [name, { input }] of /** @type {const} */ ([['width', width], ['height', height]])) query.set(name, input.value.replace(',', '.'));
    else query.set('skip', skip.input.value);
    if (where.value.startsWith('at ')) query.set('position', where.value.slice(3));
    else if (where.value === 'starred') for (const id of ids) query.append('fixture', id);
    return query;
  };
  const offer = () => {
    const positions = [...new Set(rig.list.value.map((id) => fixture(id).position))];
    const ways = [['all', WORDS.all], ...(chosen('starred').length ? [['starred', WORDS.starred]] : []), ...positions.map((name) => [`at ${name}`, name || WORDS.nowhere])];
    if (!ways.some(([value]) => value === where.value)) where.value = 'all';
    whose.replaceChildren(...ways.map(([value = '', name = '']) => h('button', { type: 'button', 'aria-pressed': String(value === where.value), onclick: () => ((where.value = value), offer()) }, name)));
    draw();
  };
  for (const [name, { input }] of Object.entries({ skip, width, height })) input.addEventListener('input', () => (name !== 'skip' && keep(`label-${name}`, input.value), draw()));
  for (const cell of [stock, tongue]) cell.read(draw, signal);
  rig.list.read(offer, signal);
  prefs.stars.read(offer, signal);
  return h('div', { className: 'labels' }, h('h3', null, WORDS.labels),
    choice(WORDS.stock, stock, Object.keys(STOCKS).map((name) => [name, WORDS.stocks[/** @type {keyof typeof STOCKS} */ (name)]]), signal, 'label-stock'),
    roll, skip.node, whose, wrong, go, h('p', { className: 'hint' }, WORDS.hint));
}

/** @param {string} where @returns {string[]} fixture ids */
function chosen(where) {
  if (where === 'starred') return rig.list.value.filter((id) => prefs.stars.value.includes(id));
  return where === 'all' ? rig.list.value : rig.list.value.filter((id) => `at ${fixture(id).position}` === where);
}

/** @param {string} id @param {string} label @param {string} value */
function field(id, label, value) {
  const input = h('input', { id, value, inputMode: 'decimal', autocomplete: 'off', maxLength: 6 });
  return { input, node: h('div', { className: 'field' }, h('label', { for: id }, label), input) };
}

/**
 * Buttons of which one is pressed.
 * @param {string} label @param {Cell<string>} cell @param {string[][]} ways value and name @param {AbortSignal} signal
 * @param {string} [memory] under which this phone keeps the choice
 */
function choice(label, cell, ways, signal, memory) {
  const choose = (/** @type {string} */ value) => {
    cell.value = value;
    if (memory) keep(memory, value);
  };
  const buttons = ways.map(([value = '', name = '']) => h('button', { type: 'button', onclick: () => choose(value) }, name));
  cell.read((now) => buttons.forEach((button, at) => mark(button, 'aria-pressed', String(ways[at]?.[0] === now))), signal);
  return h('div', { className: 'choice', role: 'group', 'aria-label': label }, ...buttons);
}
