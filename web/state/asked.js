// @ts-check
/**
 * What this phone asked and has no answer to yet. A value leaves here only when its message was
 * accepted AND the truth has reached that rev: dropping it at the `ok` alone makes numbers jump back.
 */
import { onceSaid, said, words } from '../words/words.js';
import { fixture, merge, replace, rig } from './rig.js';

/** @typedef {import('../net/contract.js').Command} Command */
/** @typedef {import('../net/contract.js').Ok | import('../net/contract.js').Refused} Answer */
/** @typedef {{paced: boolean, quiet: boolean, command: Command, settle?: (answer: Answer) => void}} Sent */
/** @typedef {{name: string, value: number, n: number, rev: number}} Entry  n 0: not sent; rev 0: not accepted */

const UNANSWERED = 3; // more would pile up in a network that stalls: 105 old values arrived in a measurement
const PACE_MS = 33;
/** What is written down can wait on this phone for a link; levels never do. */
const WRITTEN = new Set(['judge', 'fault', 'fault_settle', 'focus_mark', 'focus_note']);

/** @type {Map<string, Entry>} */ const asked = new Map();
/** @type {Map<string, Command>} */ const waiting = new Map();
/** @type {Map<number, Sent>} */ const sent = new Map();
/** @type {((command: Command & {n: number}) => void) | null} */ let post = null;
let lastN = 0;
let lastSent = 0;
let timer = 0;

/** Event `refused`: detail is a {@link Told}. Event `missed`: detail is a list of {@link Missed}. */
export const answers = new EventTarget();

/** @typedef {{fixture: string, key: string, value: number}} Missed */

const nameFor = (/** @type {string} */ id, /** @type {string} */ key) => `${id} ${key}`;

/**
 * What to show for a control: what was asked here, else what the server says.
 * @param {string} id fixture
 * @param {string} key control
 * @returns {number} fraction 0..1
 */
export function shown(id, key) {
  return asked.get(nameFor(id, key))?.value ?? rig.fixtures.get(id)?.value.values[key] ?? 0;
}

/** @param {string} id @param {string} key @returns {boolean} asked, not yet answered */
export function isAsked(id, key) {
  return asked.has(nameFor(id, key));
}

/** @returns {number} the master as asked here, else as the server says */
export const shownMaster = () => asked.get('master')?.value ?? rig.master.value;

/**
 * @param {string} id fixture
 * @param {Record<string, number>} values fractions
 * @param {{held?: boolean, now?: boolean}} [how] held: asked with press-and-hold; now: do not wait for the next beat
 */
export function set(id, values, { held = false, now = false } = {}) {
  const lane = `set ${id}`;
  if (!waiting.has(lane) && Object.entries(values).every(([key, value]) => isOnItsWay(nameFor(id, key), value))) return;
  const before = /** @type {Record<string, number> | undefined} */ (waiting.get(lane)?.values);
  /** @type {Command} */
  const command = { do: 'set', fixture: id, values: { ...before, ...values } };
  if (held || waiting.get(lane)?.held) command.held = true;
  for (const [key, value] of Object.entries(values)) note(nameFor(id, key), value);
  rig.fixtures.get(id)?.touch();
  queue(lane, command, now);
}

/**
 * Several fixtures in one message: all of it happens, or nothing does.
 * @param {string} lane newest value wins per lane; not the name of a control
 * @param {Many} values fractions
 * @param {{held?: boolean, now?: boolean}} [how]
 */
export function setMany(lane, values, { held = false, now = false } = {}) {
  lane = `many ${lane}`;
  if (!waiting.has(lane) && namesOf(values).every(([name, value]) => isOnItsWay(name, value))) return;
  const before = /** @type {Many} */ (waiting.get(lane)?.values ?? {});
  for (const [id, some] of Object.entries(values)) before[id] = { ...before[id], ...some };
  /** @type {Command} */
  const command = { do: 'set_many', values: before };
  if (held || waiting.get(lane)?.held) command.held = true;
  for (const [name, value] of namesOf(values)) note(name, value);
  for (const id of Object.keys(values)) rig.fixtures.get(id)?.touch();
  queue(lane, command, now);
}

/** @typedef {Record<string, Record<string, number>>} Many  fixture, control, fraction */

/** @param {Many} values @returns {[string, number][]} */
const namesOf = (values) => Object.entries(values).flatMap(([id, some]) => Object.entries(some).map(([key, value]) => /** @type {[string, number]} */ ([nameFor(id, key), value])));

/** The end of a drag asks once more for what its last move has asked: once is enough. @param {string} name @param {number} value */
function isOnItsWay(name, value) {
  const entry = asked.get(name);
  return !!entry && entry.n > 0 && entry.value === value;
}

/** @param {number} value 0..1 @param {boolean} [now] */
export function setMaster(value, now) {
  if (!waiting.has('master') && isOnItsWay('master', value)) return;
  note('master', value);
  queue('master', { do: 'master', value }, now);
}

/** @param {number} universe @param {number} slot @param {number | null} raw @param {boolean} [now] */
export function setSlot(universe, slot, raw, now) {
  queue(`slot ${universe} ${slot}`, { do: 'slot', universe, slot, raw }, now);
}

/**
 * Everything that is not a drag: sent at once, in order, after what was still waiting.
 * @param {Command} command
 * @param {boolean} [quiet] whoever asks tells of a refusal
 * @returns {Promise<Answer>}
 */
export function command(command, quiet = false) {
  return WRITTEN.has(command.do) ? write(command, quiet) : ask(command, quiet);
}

/** @param {Command} command @param {boolean} quiet @returns {Promise<Answer>} */
async function write(command, quiet) {
  const later = await import('./later.js').catch(() => null); // not fetched before the link went
  return later ? later.enter(command, quiet) : ask(command, quiet);
}

/** Now, or not at all. @param {Command} command @param {boolean} quiet @returns {Promise<Answer>} */
export function ask(command, quiet) {
  const lane = `set ${command.fixture}`;
  if (command.do === 'let_go' && !command.of) forget(String(command.fixture));
  else if (waiting.has(lane)) send(lane);
  if (!post) {
    const why = words.link.notSent;
    const refused = /** @type {const} */ ({ is: 'refused', n: 0, why });
    if (!quiet) tellRefused(refused);
    return Promise.resolve(refused);
  }
  const n = ++lastN;
  const answer = new Promise((/** @type {(answer: Answer) => void} */ settle) => sent.set(n, { paced: false, quiet, command, settle }));
  post({ ...command, n });
  return answer;
}

/** @param {string} name @param {number} value */
function note(name, value) {
  asked.set(name, { name, value, n: 0, rev: 0 });
}

/** @param {string} id the fixture, or "*": what was asked of it and never sent is not wanted any more */
function forget(id) {
  for (const [lane, command] of [...waiting]) {
    const many = command.do === 'set_many' && /** @type {Many} */ (command.values);
    if (many) delete many[id];
    if (id === '*' || lane === `set ${id}` || (many && !Object.keys(many).length)) waiting.delete(lane);
  }
  for (const [name, entry] of asked) if (!entry.n && (id === '*' || name.startsWith(`${id} `))) asked.delete(name);
}

/** @param {string} lane @param {Command} command @param {boolean} [now] */
function queue(lane, command, now) {
  waiting.set(lane, command);
  if (now) lastSent = 0;
  pump();
}

function pump() {
  if (!post || !waiting.size) return;
  const left = lastSent + PACE_MS - performance.now();
  if (left > 0) {
    timer ||= window.setTimeout(() => {
      timer = 0;
      pump();
    }, left);
    return;
  }
  for (const lane of [...waiting.keys()]) {
    if ([...sent.values()].filter((one) => one.paced).length >= UNANSWERED) return; // the next answer pumps again
    send(lane);
  }
}

/** @param {string} lane */
function send(lane) {
  const command = waiting.get(lane);
  if (!post || !command) return;
  waiting.delete(lane);
  const n = ++lastN;
  sent.set(n, { paced: true, quiet: false, command });
  lastSent = performance.now();
  const many = /** @type {Many} */ (command.do === 'set_many' ? command.values : command.do === 'set' ? { [String(command.fixture)]: command.values } : {});
  for (const name of [lane, ...namesOf(many).map(([one]) => one)]) {
    const entry = asked.get(name);
    if (entry) entry.n = n;
  }
  post({ ...command, n });
}

/** @typedef {import('../net/contract.js').Refused & {command?: Command}} Told  with what was refused */

/** @param {Told} refused */
function tellRefused(refused) {
  answers.dispatchEvent(new CustomEvent('refused', { detail: refused }));
}

/** @param {string} name */
function drop(name) {
  asked.delete(name);
  if (name === 'master') rig.master.touch();
  else rig.fixtures.get(name.slice(0, name.indexOf(' ')))?.touch();
}

/** Everything the socket brings. @param {import('../net/contract.js').Incoming} message */
export function take(message) {
  if (message.is === 'hello') {
    replace(message);
    forgive();
  } else if (message.is === 'change') merge(message);
  else if (message.is === 'rest') merge(message, true);
  else if (message.is === 'here') rig.rev = message.rev;
  else answer(message);
  for (const entry of [...asked.values()]) if (entry.rev && rig.rev >= entry.rev) drop(entry.name);
}

/** @param {Answer} message */
function answer(message) {
  const one = sent.get(message.n);
  sent.delete(message.n);
  for (const entry of [...asked.values()]) {
    if (entry.n !== message.n) continue;
    if (message.is === 'ok') entry.rev = message.rev;
    else drop(entry.name);
  }
  if (message.is === 'refused') onceSaid(() => refuse(message, one));
  else one?.settle?.(message);
  pump();
}

/** @param {import('../net/contract.js').Refused} message @param {Sent} [one] what was asked */
function refuse(message, one) {
  const told = { ...message, why: said(message) };
  if (!one?.quiet) tellRefused({ ...told, command: one?.command });
  one?.settle?.(told);
}

/** After hello: what had no answer is unknown. Say what did not arrive; never send levels again by ourselves. */
function forgive() {
  const old = [...asked.values()].filter((entry) => !entry.rev);
  /** @type {Missed[]} */
  const missed = [];
  for (const { name, value } of old) {
    const gap = name.indexOf(' ');
    const [id, key] = [name.slice(0, gap), name.slice(gap + 1)];
    if (gap < 0 || !rig.fixtures.has(id)) continue;
    if (Math.abs((fixture(id).values[key] ?? 0) - value) > 0.003) missed.push({ fixture: id, key, value });
  }
  asked.clear();
  waiting.clear();
  for (const { settle } of sent.values()) settle?.({ is: 'refused', n: 0, why: words.link.lost });
  sent.clear();
  rig.master.touch();
  if (missed.length) answers.dispatchEvent(new CustomEvent('missed', { detail: missed }));
}

/** @param {((command: Command & {n: number}) => void) | null} poster how to reach the server, null while there is no link */
export function connect(poster) {
  post = poster;
}
