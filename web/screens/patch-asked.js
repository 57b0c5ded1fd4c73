// @ts-check
/** Changes of the patch on their way to the laptop, one after the other, and taking back what was done here. */
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { Cell } from '../state/cell.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { onPatch } from '../words/patch.js';
import { fetchLaptopWords, said } from '../words/words.js';

/** @typedef {import('./patch-fields.js').Fields} Fields */
/** @typedef {{fixtures?: Record<string, Fields>, add?: Fields[], remove?: string[]}} Asked */
/** @typedef {{fixture: string | null, kind: string, refused: boolean, why: string, said?: import('../net/contract.js').Said, suggestion: Record<string, string | number> | null, put: number | null}} Finding */

const WORDS = onPatch.patch;
const LATER_MS = 400; // a change brings others in its train: looked at once

/** Numbers of the changes made here, oldest first, and how many of them are not undone. */
const done = { changes: /** @type {number[]} */ ([]), count: 0 };
/** What can be undone and redone here. */
export const ways = new Cell({ undo: 0, redo: 0 });
const tell = () => (ways.value = { undo: done.count, redo: done.changes.length - done.count });

/** @type {Promise<unknown>} */
let last = Promise.resolve();
/** One after the other, so that each is undone by itself. @template T @param {() => Promise<T>} step @returns {Promise<T>} */
function inTurn(step) {
  const mine = last.then(step);
  last = mine.catch(() => null);
  return mine;
}

/** Once everything that was asked here is done or refused. */
export const settled = () => last;

/**
 * All of it or nothing.
 * @param {Asked} asked @param {boolean} [evenSo] also a second unit of a number
 * @returns {Promise<{id: string}[]>} those changed and then those added, as they are now
 * @throws {Error} why not, as a sentence
 */
export const change = (asked, evenSo = false) => inTurn(async () => {
  /** @type {{id: string}[]} */
  const now = await call('PATCH', `/api/fixtures${evenSo ? '?even_so=true' : ''}`, asked);
  /** @type {{change: number, fixtures: string[]}[]} */
  const [newest] = await call('GET', '/api/changes?mine=true&limit=1').catch(() => []);
  const about = new Set([...now.map(({ id }) => id), ...(asked.remove ?? [])]);
  if (newest && !done.changes.includes(newest.change) && newest.fixtures.some((id) => about.has(id))) {
    done.changes.splice(done.count, Infinity, newest.change);
    done.count += 1;
    tell();
  }
  return now;
});

/** @param {boolean} again redo @param {boolean} [held] */
const turnBack = (again, held = false) => inTurn(async () => {
  const number = done.changes[again ? done.count : done.count - 1];
  if (number === undefined) return;
  const known = await call('GET', '/api/changes?mine=true&limit=50').catch(() => []);
  const one = known.find((/** @type {{change: number}} */ { change: of }) => of === number);
  if (!one || !!one.undone === again) {
    const answer = await command({ do: 'undo', change: number, ...(held ? { over: true, held } : {}) }, true);
    if (answer.is === 'refused') {
      const hold = answer.ask === 'take' || answer.ask === 'held';
      return say(answer.why, hold ? [{ label: again ? late.past.againNow : late.past.undoNow, hold: late.past.hold, press: () => void turnBack(again, true) }] : []);
    }
  } // else somebody did it elsewhere
  done.count += again ? 1 : -1;
  tell();
});

export const undo = () => turnBack(false);
export const redo = () => turnBack(true);

/**
 * What there would be to say about it.
 * @param {{put?: Fields[], remove?: string[]}} proposal @returns {Promise<Finding[]>}
 */
export async function judge(proposal) {
  const found = await call('POST', '/api/patch/check', proposal).catch((/** @type {Error} */ error) => [asFinding(error.message)]);
  await fetchLaptopWords();
  return found;
}

/** A sentence of ours as if the laptop had found it. @param {string} why @returns {Finding} */
export const asFinding = (why) => ({ fixture: null, kind: 'typed', refused: true, why, suggestion: null, put: 0 });

/** @param {Finding} finding */
export const sentenceOf = (finding) => said(finding);

/** What a suggestion is called on its button. @param {Record<string, string | number>} suggestion */
export function suggested(suggestion) {
  const [[name, value] = ['', '']] = Object.entries(suggestion);
  const shown = name === 'profile' ? (rig.profiles.get(String(value))?.name ?? value) : value;
  return WORDS.use(WORDS.suggested[/** @type {keyof typeof WORDS.suggested} */ (name)] ?? name, String(shown));
}

/** What there is to say about the patch as it is, by fixture. */
export const standing = new Cell(/** @type {Map<string, Finding[]>} */ (new Map()));

/** @param {AbortSignal} signal */
export function watchStanding(signal) {
  let timer = 0;
  let turn = 0;
  const load = async () => {
    const mine = ++turn;
    /** @type {Finding[] | null} */
    const found = await call('GET', '/api/patch/problems').catch(() => null);
    await fetchLaptopWords();
    if (!found || signal.aborted || mine !== turn) return;
    /** @type {Map<string, Finding[]>} */
    const by = new Map();
    for (const each of found) if (each.fixture) by.set(each.fixture, [...(by.get(each.fixture) ?? []), each]);
    standing.value = by;
  };
  rig.patched.read(() => {
    clearTimeout(timer);
    timer = window.setTimeout(load, LATER_MS);
  }, signal);
  signal.addEventListener('abort', () => clearTimeout(timer));
}
