// @ts-check
/** From the whole rig to what has no place on the shelf: each thing by one large link. */
import { h } from '../elements/dom.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';

/** @typedef {'lead' | 'crew' | 'house'} Role */
/** Where to, by what words, and for whom. @typedef {{hash: string, words: keyof typeof late.ways.to, who: readonly Role[]}} Way */

const ALL = /** @type {const} */ (['lead', 'crew', 'house']);

/** In the order they stand there. @type {readonly Way[]} */
const WAYS = [
  { hash: 'slots', words: 'slots', who: ALL },
  { hash: 'patch', words: 'patch', who: ['lead'] },
  { hash: 'library', words: 'library', who: ['lead'] },
  { hash: 'switches', words: 'switches', who: ALL },
  { hash: 'bring', words: 'bring', who: ['lead'] },
  { hash: 'faults', words: 'faults', who: ALL },
  { hash: 'seek', words: 'seek', who: ALL },
  { hash: 'instead', words: 'instead', who: ['lead', 'crew'] },
  { hash: 'teach', words: 'teach', who: ['lead', 'crew'] },
  { hash: 'beside', words: 'beside', who: ['lead'] },
  { hash: 'outputs', words: 'outputs', who: ['lead'] },
  { hash: 'nodes', words: 'nodes', who: ['lead'] },
];

export function makeWays() {
  const role = /** @type {Role} */ (rig.you.value.role);
  const mine = WAYS.filter(({ who }) => who.includes(role));
  return h('nav', { className: 'ways', 'aria-label': late.ways.label }, ...mine.map(({ hash, words }) => h('a', { className: 'button', href: `#${hash}` }, late.ways.to[words])));
}
