// @ts-check
/** A pane of what a fixture can be told to do: recalibrate, strike its lamp. Everything is held. */
import { h } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { command } from '../state/asked.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('./pane-faders.js').Made} Made */

/** @param {import('../state/sheet.js').Acts} pane @param {Reach} reach @returns {Made} */
export function actsPane({ acts }, reach) {
  const buttons = acts.map(({ control, fn }) => {
    const name = fn.name ?? fn.attribute;
    const label = fn.action?.kind === 'reset' ? late.acts.moves(name) : name;
    return holdButton(label, fn.action?.words ?? '', () => void act(label, control.key, fn.called ?? name));
  });
  /** @param {string} label @param {string} control @param {string} name */
  const act = async (label, control, name) => {
    const it = rig.fixtures.get(reach.id)?.value;
    if (!it) return;
    if (it.holder && it.holder !== rig.you.value.id && !reach.grab([], label)) return;
    const answer = await command({ do: 'act', fixture: reach.id, control, function: name, held: true });
    if (answer.is === 'ok') say(late.acts.asked(label, it.channel));
  };
  return { node: h('div', { className: 'acts' }, ...buttons), update: () => {} };
}
