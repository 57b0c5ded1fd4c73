// @ts-check
/** Under a pane with flashing in it: how fast is within reach, and the lead's half minute of more. */
import { h } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { command } from '../state/asked.js';
import { isLifted } from '../state/flashing.js';
import { rig } from '../state/rig.js';
import { secondsTo } from '../state/values.js';
import { late } from '../words/late.js';

const WORDS = late.steps;
const EACH_MS = 500;

/** @param {import('./fixture.js').Reach} reach @param {() => void} changed it may flash faster, or no longer */
export function liftSection({ id, signal, locked, single }, changed) {
  const lift = holdButton(WORDS.lift, WORDS.liftWords, () => void command({ do: 'lift_flashes', fixture: id }));
  const draw = () => {
    const now = isLifted(id);
    lift.hidden = rig.you.value.role !== 'lead' || !single || locked !== null;
    lift.disabled = now;
    lift.setAttribute('words', now && rig.lifted.value ? WORDS.lifted(secondsTo(rig.lifted.value.ends)) : WORDS.liftWords);
    changed();
  };
  rig.lifted.read(draw, signal);
  rig.you.read(draw, signal);
  const timer = setInterval(() => (rig.lifted.value ? draw() : undefined), EACH_MS);
  signal.addEventListener('abort', () => clearInterval(timer));
  return h('div', { className: 'lift' }, h('p', { className: 'caution' }, WORDS.limit), lift);
}
