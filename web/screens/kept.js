// @ts-check
/** What was written down on this phone and is not at the laptop yet. */
import { h } from '../elements/dom.js';
import { later } from '../state/later.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';

const WORDS = late.kept;

/** @param {AbortSignal} signal */
export function makeKept(signal) {
  const list = h('ul', { className: 'entries' });
  const node = h('section', { 'aria-labelledby': 'kept' }, h('h2', { id: 'kept' }, WORDS.title), list);
  later.read((all) => {
    node.hidden = !all.length;
    list.replaceChildren(...all.map(({ command, at }) => h('li', null, WORDS.entry(channelOf(String(command.fixture)), spokenOf(command), new Date(at).toTimeString().slice(0, 5)))));
  }, signal);
  return node;
}

/** @param {string} id */
const channelOf = (id) => String(rig.fixtures.get(id)?.value.channel ?? '\u2013');

/** @param {import('../net/contract.js').Command} command */
function spokenOf(command) {
  const reason = /** @type {keyof typeof late.reasons} */ (command.reason);
  if (command.do === 'judge') return command.works ? WORDS.works : [late.reasons[reason], command.note].filter(Boolean).join(': ');
  if (command.do === 'fault') return String(command.words ?? WORDS.works);
  if (command.do === 'focus_note') return Object.values(/** @type {Record<string, string>} */ (command.note)).filter(Boolean).join(', ');
  return command.do === 'photo' ? WORDS.photo : WORDS.mark;
}
