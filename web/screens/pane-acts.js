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
const ALL = '';

/**
 * Until when each fixture is busy ("" for all it can be told) or one action has to wait, as far as this phone has asked
 * or was told: by performance.now(). An estimate of the profile's; the server decides.
 * @type {Map<string, Map<string, number>>}
 */
const waits = new Map();

/** @param {ControlFunction} fn */
const isLamp = ({ action }) => !!action?.kind.startsWith('lamp');

/** @param {import('../state/sheet.js').Acts} pane @param {Reach} reach @returns {Made} */
export function actsPane({ acts }, reach) {
  const { id, cell, signal } = reach;
  const until = waits.get(id) ?? new Map();
  waits.set(id, until);
  const buttons = acts.map(({ control, fn }) => {
    const name = fn.name ?? fn.attribute;
    const label = fn.action?.kind === 'reset' ? WORDS.moves(name) : name;
    const called = fn.called ?? name; // as the laptop knows it
    const button = holdButton(label, '', () => void act(label, control.key, fn, called));
    return { button, fn, name: called };
  });
  const wait = (/** @type {string} */ what, /** @type {number} */ seconds) => until.set(what, Math.max(until.get(what) ?? 0, performance.now() + seconds * 1000));
  /** @param {string} label @param {string} control @param {ControlFunction} fn @param {string} name */
  const act = async (label, control, fn, name) => {
    const it = cell.value;
    if (it.holder && it.holder !== rig.you.value.id && !reach.grab([], label)) return;
    const answer = await command({ do: 'act', fixture: id, control, function: name, held: true });
    if (answer.is === 'ok') {
      wait(ALL, (fn.action?.hold_s ?? 0) + (fn.action?.busy_s ?? 0));
      if (fn.action?.kind === 'lamp_off') for (const one of buttons) if (one.fn.action?.kind === 'lamp_on') wait(one.name, fn.action.lockout_s ?? 0);
      say(WORDS.asked(label, it.channel));
    } else {
      const { seconds, minutes } = answer.said?.[1] ?? {};
      if (minutes || seconds) wait(name, Number(minutes ?? 0) * 60 + Number(seconds ?? 0));
    }
    update();
  };
  const update = () => {
    const it = cell.value;
    const up = aloftAt(it.position);
    for (const { button, fn, name } of buttons) {
      const left = secondsTo(Math.max(until.get(ALL) ?? 0, until.get(name) ?? 0));
      const unarmed = isLamp(fn) && !isArmed(it);
      const why = reach.locked ? '' : it.hands_on.length ? WORDS.hands(handsOf(it)) : up.length ? WORDS.aloft(words.marks.aloft(namesOf(up), up.length)) : unarmed ? WORDS.notArmed : left ? WORDS.wait(clock(left)) : '';
      button.disabled = reach.locked !== null || (why !== '' && why !== WORDS.notArmed);
      button.refused = why === WORDS.notArmed;
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
