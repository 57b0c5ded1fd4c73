// @ts-check
/** How far a rig check is, and where everybody is in it: the same on every phone. */
import { h, write } from '../elements/dom.js';
import { fixture, nameOf, rig } from '../state/rig.js';
import { late } from '../words/late.js';

/** @typedef {import('../net/contract.js').CheckAt} CheckAt */

const WORDS = late.check;

/** How far the whole rig is, on every phone. @param {AbortSignal} signal */
export function progress(signal) {
  const bar = h('i', { className: 'bar', 'aria-hidden': 'true' }, h('i', { className: 'works' }), h('i', { className: 'faults' }));
  const told = h('p', { className: 'told', role: 'status' });
  const who = h('p', { className: 'hint' });
  const [works, faults] = /** @type {HTMLElement[]} */ ([...bar.children]);
  const draw = () => {
    const now = rig.check.value;
    if (!now || !works || !faults) return;
    const share = (/** @type {number} */ some) => `${(100 * some) / Math.max(1, now.of)}%`;
    works.style.inlineSize = share(now.works);
    faults.style.inlineSize = share(now.faults);
    write(told, [WORDS.done(now.works + now.faults, now.of), now.faults ? WORDS.faults(now.faults) : '', now.left_s ? WORDS.left(Math.ceil(now.left_s / 60)) : ''].filter(Boolean).join(' \u00b7 '));
    const others = Object.entries(now.people).filter(([id, at]) => id !== rig.you.value.id && at.fixture && rig.fixtures.has(at.fixture));
    write(who, others.map(([id, at]) => WORDS.isAt(nameOf(id), placeOf(at), fixture(at.fixture ?? '').channel)).join(' \u00b7 '));
    who.hidden = !others.length;
  };
  for (const cell of [rig.check, rig.people]) cell.read(draw, signal);
  return h('div', { className: 'progress' }, bar, told, who);
}

/** @param {CheckAt} at @returns {string} */
export const placeOf = (at) => (at.order === 'universe' && at.where ? WORDS.universe(at.where) : (rig.fixtures.get(at.fixture ?? '')?.value.position ?? '') || WORDS.nowhere);
