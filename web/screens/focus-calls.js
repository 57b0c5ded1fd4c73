// @ts-check
/** Five words that can be called across the room, each by one tap. */
import { h, once } from '../elements/dom.js';
import { command } from '../state/asked.js';
import { nameOf, rig } from '../state/rig.js';
import { spoken } from '../words/call.js';
import { SHOUTS } from './shout.js';

const WORDS = spoken.shout;

/** @param {() => string} whose turn it is: whom the lead calls; one's own: everybody at work */
export function makePad(whose) {
  const shout = (/** @type {string} */ what) => {
    const lead = rig.you.value.role === 'lead';
    const to = lead && whose() !== rig.you.value.id ? { to: whose() } : {};
    void command({ do: 'shout', what, ...to });
  };
  const to = h('p', { className: 'count', role: 'status' });
  const pad = h('div', { className: 'pad', role: 'group', 'aria-label': WORDS.pad }, to,
    ...SHOUTS.flatMap((what) => [h('button', { type: 'button', className: `say-${what}`, onclick: once(() => shout(what)) }, WORDS.words[what]), ...(what === 'stop' ? [h('p', { className: 'hint' }, WORDS.hint)] : [])]));
  const draw = () => {
    const lead = rig.you.value.role === 'lead';
    to.textContent = !lead ? WORDS.toLead : whose() === rig.you.value.id ? WORDS.toAll : WORDS.to(nameOf(whose()));
  };
  return { node: pad, draw };
}
