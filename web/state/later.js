// @ts-check
/**
 * What is written down on this phone and not at the laptop yet: verdicts, faults, notes. Kept here until it is there,
 * sent again after a lost link under the same name, so that it comes in once. Levels are never kept: a light that comes
 * up a minute late is a danger.
 */
import { ask } from './asked.js';
import { Cell } from './cell.js';
import { keep, kept } from './prefs.js';
import { rig } from './rig.js';

/** @typedef {import('../net/contract.js').Command} Command */
/** @typedef {import('./asked.js').Answer} Answer */
/**
 * at: by this phone's clock, milliseconds. A command `photo` is a picture in the browser's own store, sent over HTTP.
 * @typedef {{entry: string, at: number, command: Command}} Kept
 */

const DAY_S = 86_000; // as old as the laptop takes it
const OK = /** @type {const} */ ({ is: 'ok', n: 0, rev: 0 });

/** @returns {Kept[]} */
function read() {
  try {
    return JSON.parse(kept('later', '[]'));
  } catch {
    return [];
  }
}

/** Oldest first. @type {Cell<Kept[]>} */
export const later = new Cell(read());

/** @param {Kept[]} all in the phone's memory before anything else: it may be put away the next moment */
function put(all) {
  keep('later', all.length ? JSON.stringify(all) : null);
  later.value = all;
  rig.kept.value = all.length;
}

/** Whoever waits for an answer, by entry. @type {Map<string, {quiet: boolean, settle: (answer: Answer) => void}>} */
const waiting = new Map();
let sending = false;

/**
 * Write something down: answered as the laptop does when there is a link, with "ok" at once when there is none.
 * @param {Command} command @param {boolean} quiet whoever asks tells of a refusal @returns {Promise<Answer>}
 */
export function enter(command, quiet) {
  const entry = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 12)}`;
  add(entry, command);
  if (rig.link.value !== 'live') return Promise.resolve(OK);
  const answer = new Promise((/** @type {(answer: Answer) => void} */ settle) => waiting.set(entry, { quiet, settle }));
  void sendAll();
  return answer;
}

/** Write something down that is sent in another way. @param {string} entry @param {Command} command */
export const add = (entry, command) => put([...later.value, { entry, at: Date.now(), command }]);

/** @param {Command} command @returns {Promise<Answer>} */
async function sendPhoto({ fixture, photo }) {
  const [{ keptPicture, dropPicture }, { call }] = await Promise.all([import('./kept-photos.js'), import('../net/http.js')]);
  const picture = await keptPicture(String(photo));
  /** @type {Error | null} */
  const wrong = picture ? await call('POST', `/api/photos?${new URLSearchParams({ fixture: String(fixture), photo: String(photo) })}`, picture).then(() => null, (error) => error) : null;
  if (wrong && wrong.cause === undefined) return { is: 'refused', n: 0, why: wrong.message }; // no link
  await dropPicture(String(photo));
  return OK;
}

/** One after the other, oldest first, until all are in or the link is gone. */
async function sendAll() {
  if (sending) return;
  sending = true;
  for (let one = later.value[0]; one && rig.link.value === 'live'; one = later.value[0]) {
    const { entry, at, command } = one;
    const asker = waiting.get(entry);
    waiting.delete(entry);
    const ago_s = Math.min(Math.max((Date.now() - at) / 1000, 0), DAY_S);
    const answer = command.do === 'photo' ? await sendPhoto(command) : await ask({ ...command, entry, ago_s }, asker?.quiet ?? false);
    const isLost = answer.is === 'refused' && answer.n === 0;
    if (!isLost) put(later.value.filter((other) => other.entry !== entry));
    asker?.settle(isLost ? OK : answer);
    if (isLost) break;
  }
  sending = false;
}

put(later.value);
rig.link.read((link) => link === 'live' && void sendAll(), new AbortController().signal);
