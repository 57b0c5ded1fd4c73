// @ts-check
/** A pane of what a fixture can be told to do: recalibrate, strike its lamp. Everything is held. */
import { h } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { command } from '../state/asked.js';
import { aloftAt, handsOf, namesOf, rig } from '../state/rig.js';
import { clock, secondsTo } from '../state/values.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { armSection, isArmed } from './arm.js';

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('./pane-faders.js').Made} Made */
/** @typedef {import('../net/contract.js').ControlFunction} ControlFunction */

const WORDS = late.acts;
const EACH_MS = 500;

/** @param {ControlFunction} fn */
const isLamp = ({ action }) => !!action?.kind.startsWith('lamp');

/** @param {import('../state/sheet.js').Acts} pane @param {Reach} reach @returns {Made} */
export function actsPane({ acts }, reach) {
  const { id, cell, signal } = reach;
  const buttons = acts.map(({ control, fn }) => {
    const name = fn.name ?? fn.attribute;
    const label = fn.action?.kind === 'reset' ? WORDS.moves(name) : name;
    const called = fn.called ?? name; // as the laptop knows it
    return { button: holdButton(label, '', () => void act(label, control.key, called)), fn };
  });
  /** @param {string} label @param {string} control @param {string} name */
  const act = async (label, control, name) => {
    const it = cell.value;
    if (it.holder && it.holder !== rig.you.value.id && !reach.grab([], label)) return;
    const answer = await command({ do: 'act', fixture: id, control, function: name, held: true });
    if (answer.is === 'ok') say(WORDS.asked(label, it.channel));
  };
  /** Why it would be refused now, as far as the laptop has told; "": it would not be. @param {ControlFunction} fn */
  const whyNot = (fn) => {
    const it = cell.value;
    const up = aloftAt(it.position);
    if (it.hands_on.length) return WORDS.hands(handsOf(it));
    if (up.length) return WORDS.aloft(words.marks.aloft(namesOf(up), up.length));
    if (isLamp(fn) && !isArmed(it)) return rig.you.value.role === 'lead' ? late.guard.notArmed : WORDS.notArmed;
    const left = secondsTo(Math.max(it.busy?.ends ?? 0, (fn.action?.kind === 'lamp_on' && it.cools?.ends) || 0));
    return left ? WORDS.wait(clock(left)) : '';
  };
  const update = () => {
    for (const { button, fn } of buttons) {
      const why = reach.locked ? '' : whyNot(fn);
      button.disabled = reach.locked !== null || why !== '';
      button.setAttribute('words', [fn.action?.words, why].filter(Boolean).join(' '));
    }
  };
  const lamp = acts.some(({ fn }) => isLamp(fn));
  rig.people.read(update, signal);
  const timer = setInterval(update, EACH_MS);
  signal.addEventListener('abort', () => clearInterval(timer));
  const more = lamp ? [armSection(reach, 'lamp', update), h('p', { className: 'caution' }, late.guard.before.lamp ?? '')] : [];
  return { node: h('div', { className: 'acts' }, ...buttons.map(({ button }) => button), ...more), update };
}
