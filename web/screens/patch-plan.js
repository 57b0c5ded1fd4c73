// @ts-check
/** Addresses worked out by the laptop, shown before they are taken: who gets which, and a picture of each universe. */
import { h, mark, once, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { fixture, rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { onPatch } from '../words/patch.js';
import { number, words } from '../words/words.js';
import { change, undo } from './patch-asked.js';
import { called, placesOf } from './patch-fields.js';
import { field, openDialog } from './patch-proposal.js';

/** @typedef {{fixture: string, universe: number, address: number, starts: {number: number, universe: number, address: number}[]}} Placed */
/** @typedef {{first: number, last: number, what: 'planned' | 'taken' | 'off_limits' | 'reserved', why: string, fixture: string | null}} Stretch */
/** @typedef {{placed: Placed[], left: {fixture: string, where: string}[], universes: {universe: number, ranges: Stretch[]}[]}} Plan */

const WORDS = onPatch.patch;
const PAUSE_MS = 200;
const SAID_MS = 6000;
const SLOTS = 512;
/** Slots in one line of a picture, and the size of one. */
const LINE = 64;
const [WIDE, HIGH] = [10, 26];
const SVG = 'http://www.w3.org/2000/svg';

/** @param {string} name @param {Record<string, string | number>} attributes @param {...(Node | string)} children */
function svg(name, attributes, ...children) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
  node.append(...children);
  return node;
}

/** Eight lines of 64 slots. @param {{universe: number, ranges: Stretch[]}} one */
function picture({ universe, ranges }) {
  const taken = new Set(ranges.flatMap(({ first, last }) => Array.from({ length: last - first + 1 }, (_, at) => first + at)));
  const news = ranges.filter(({ what }) => what === 'planned').reduce((sum, { first, last }) => sum + last - first + 1, 0);
  const lines = SLOTS / LINE;
  const left = 44;
  const drawn = svg('svg', { viewBox: `0 0 ${left + LINE * WIDE + 2} ${lines * HIGH}`, role: 'img', 'aria-label': WORDS.picture(universe, SLOTS - taken.size, news), class: 'slots-drawn' });
  for (let line = 0; line < lines; line += 1) {
    drawn.append(svg('text', { x: left - 8, y: line * HIGH + 17, 'text-anchor': 'end' }, String(line * LINE + 1)));
    drawn.append(svg('rect', { class: 'free', x: left, y: line * HIGH + 2, width: LINE * WIDE, height: HIGH - 6 }));
  }
  const rank = { off_limits: 0, reserved: 1, taken: 2, planned: 3 }; // what lies on a reserved range is seen
  for (const { first, last, what } of [...ranges].sort((a, b) => rank[a.what] - rank[b.what])) {
    for (let slot = first; slot <= last;) {
      const end = Math.min(last, Math.ceil(slot / LINE) * LINE);
      const line = Math.floor((slot - 1) / LINE);
      drawn.append(svg('rect', { class: what, x: left + ((slot - 1) % LINE) * WIDE + 1, y: line * HIGH + 3, width: (end - slot + 1) * WIDE - 2, height: HIGH - 8 }));
      slot = end + 1;
    }
  }
  const kept = ranges.filter(({ why }) => why).map(({ first, last, what, why }) => WORDS.kept[/** @type {'reserved' | 'off_limits'} */ (what)](first, last, why));
  return h('figure', null, h('figcaption', null, h('b', null, WORDS.universeN(universe)), ` ${WORDS.free(SLOTS - taken.size)}`), drawn, ...kept.map((text) => h('small', null, text)));
}

/**
 * @param {{ids: string[], done: (ids: string[]) => void}} how ids: for which; none: for all that have no address
 */
export function planAddresses({ ids, done }) {
  const from = field('plan-from', WORDS.from, '1.1', { inputMode: 'decimal', maxLength: 10 });
  const gap = field('plan-gap', WORDS.gap, '0', { inputMode: 'numeric', maxLength: 3 });
  let together = true;
  const keep = h('button', { type: 'button', 'aria-pressed': 'true', onclick: () => {
    together = !together;
    mark(keep, 'aria-pressed', String(together));
    later();
  } }, WORDS.together);
  const status = h('p', { className: 'count', role: 'status' });
  const why = h('p', { className: 'why', role: 'alert' });
  const list = h('ul', { className: 'proposed planned' });
  const pictures = h('div', { className: 'pictures' });
  const legend = h('p', { className: 'legend', 'aria-hidden': 'true' }, ...(/** @type {const} */ (['planned', 'taken', 'reserved', 'off_limits', 'free'])).map((what) => h('span', null, svg('svg', { viewBox: '0 0 20 20' }, svg('rect', { class: what, x: 1, y: 1, width: 18, height: 18 })), WORDS.legend[what])));
  const go = h('button', { type: 'button', className: 'main', disabled: true });
  /** @type {Plan | null} */ let plan = null;
  let timer = 0;
  let turn = 0;

  const draw = () => {
    const { placed = [], left = [], universes = [] } = plan ?? {};
    write(status, plan ? WORDS.planned(placed.length, universes.length) : '');
    write(go, WORDS.apply(placed.length));
    go.disabled = !placed.length;
    list.replaceChildren(
      ...left.map(({ fixture: id, where }) => h('li', { 'data-found': 'wrong' }, h('b', null, rig.fixtures.has(id) ? called(fixture(id)) : where), h('p', { className: 'why' }, WORDS.noRoom))),
      ...placed.filter(({ fixture: id }) => rig.fixtures.has(id)).map((one) => {
        const it = fixture(one.fixture);
        const [was, now] = [placesOf(it).join(' '), placesOf(one).join(' ')];
        return h('li', null, h('b', null, called(it)), h('span', null, [it.position, it.unit && words.list.unit(it.unit), it.purpose].filter(Boolean).join(' \u00b7 ')), h('b', { className: 'to' }, `${was && was !== now ? `${was} \u2192 ` : ''}${now}`));
      }),
    );
    pictures.replaceChildren(...universes.map(picture));
    legend.hidden = !universes.length;
  };
  const look = async () => {
    const mine = ++turn;
    const free = Number(gap.input.value);
    const asked = { fixtures: ids.length ? ids.filter((id) => rig.fixtures.has(id)) : null, from: from.input.value.trim().replace(',', '.'), rules: { gap: Number.isInteger(free) ? free : 0, together } };
    const answer = await call('POST', '/api/patch/plan', asked).catch((/** @type {Error} */ error) => error.message);
    if (mine !== turn) return;
    plan = typeof answer === 'string' ? null : answer;
    write(why, typeof answer === 'string' ? answer : '');
    draw();
  };
  const later = () => {
    clearTimeout(timer);
    go.disabled = true; // what is shown is not what is asked for now
    timer = window.setTimeout(() => void look(), PAUSE_MS);
  };
  for (const { input } of [from, gap]) input.addEventListener('input', later);
  go.addEventListener('click', once(async () => {
    const placed = plan?.placed ?? [];
    go.disabled = true;
    try {
      await change({ fixtures: Object.fromEntries(placed.map(({ fixture: id, universe, address, starts }) => [id, { universe, address, starts }])) });
      end();
      done(placed.map(({ fixture: id }) => id));
      say(WORDS.done(placed.length), [{ label: late.past.undo, press: () => void undo() }], SAID_MS);
    } catch (error) {
      write(why, /** @type {Error} */ (error).message);
      go.disabled = false;
    }
  }));
  const { end } = openDialog(WORDS.plan, 'wide', h('p', { className: 'hint' }, ids.length ? WORDS.planPicked(number(ids.length)) : WORDS.planBare),
    h('div', { className: 'fields-of' }, from.node, gap.node, keep), status, why, h('div', { className: 'plan' }, pictures, list), legend,
    h('div', { className: 'ends' }, h('button', { type: 'button', onclick: () => end() }, words.keypad.notNow), go));
  draw();
  void look();
}
