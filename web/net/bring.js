// @ts-check
/** Many profile files to the laptop: gathered from what was dropped, sent a few at a time, answered one by one. */
import { fetchLaptopWords, said, words } from '../words/words.js';

/** What became of a file. key: where it is found now, null where it gave no profile. @typedef {{name: string, key: string | null, problems: {where: string, why: string}[]}} Came */
/** @typedef {Came | {archive: string, holds: number}} Line */

const TOGETHER = 40; // files in one request; each costs the laptop the start of a process
const TOGETHER_LONG = 24 * 2 ** 20; // octets
/** Of one file, as the laptop takes them. */
export const FILE_MOST = 128 * 2 ** 20;
export const FILES_MOST = 20_000;
const KINDS = /\.(gdtf|json|zip)$/i;

/** @param {File} file */
export const isOne = ({ name }) => KINDS.test(name);

/**
 * All files of a drop, those in its folders too.
 * @param {DataTransfer} dropped to be asked while the event lasts: afterwards it is empty
 * @returns {Promise<File[]>}
 */
export async function filesOf(dropped) {
  const things = [...dropped.items].filter(({ kind }) => kind === 'file').map((item) => item.webkitGetAsEntry() ?? item.getAsFile());
  const found = /** @type {File[]} */ ([]);
  for (const thing of things) {
    if (thing instanceof File) found.push(thing);
    else if (thing) await walk(thing, found);
  }
  return found;
}

/** @param {FileSystemEntry} entry @param {File[]} found */
async function walk(entry, found) {
  if (found.length > FILES_MOST) return;
  if (entry.isFile) {
    const file = await new Promise((/** @type {(file: File | null) => void} */ settle) => /** @type {FileSystemFileEntry} */ (entry).file(settle, () => settle(null)));
    found.push(file ?? new File([], entry.name)); // it cannot be read: the laptop will say that there is nothing in it
  } else {
    const reader = /** @type {FileSystemDirectoryEntry} */ (entry).createReader();
    for (;;) {
      const some = await new Promise((/** @type {(some: FileSystemEntry[]) => void} */ settle) => reader.readEntries(settle, () => settle([]))); // a hundred at a time
      if (!some.length) return;
      for (const one of some) await walk(one, found);
    }
  }
}

/** @param {File[]} files @returns {File[][]} */
function together(files) {
  const out = /** @type {File[][]} */ ([]);
  let length = 0;
  for (const file of files) {
    const last = out.at(-1);
    if (last && last.length < TOGETHER && length + file.size <= TOGETHER_LONG) last.push(file);
    else {
      out.push([file]);
      length = 0;
    }
    length += file.size;
  }
  return out;
}

/**
 * Sends them, a few at a time and one such request after the other.
 * @param {File[]} files
 * @param {(line: Line) => void} told
 * @param {AbortSignal} signal
 * @throws {Error} nothing more can be sent; its message says why
 */
export async function bring(files, told, signal) {
  for (const some of together(files)) await tried(some, told, signal);
}

/** What fails together is tried one by one, so that one bad file is named. @param {File[]} some @param {(line: Line) => void} told @param {AbortSignal} signal */
async function tried(some, told, signal) {
  let answered = 0;
  try {
    await send(some, (line) => {
      answered += 1;
      told(line);
    }, signal);
  } catch (error) {
    if (signal.aborted) throw error;
    const why = /** @type {Error} */ (error);
    const [only] = some;
    if (answered || !only) throw why; // the link went while it was at it
    if (some.length > 1) for (const file of some) await tried([file], told, signal);
    else if (why instanceof Refused || (await isThere())) told({ name: only.name, key: null, problems: [{ where: '', why: why.message }] });
    else throw why;
  }
}

/** The laptop said no: the rest may well be taken. */
class Refused extends Error {}

const isThere = () => fetch('/api/health', { cache: 'no-store' }).then(({ ok }) => ok, () => false);

/** @param {File[]} some @param {(line: Line) => void} told @param {AbortSignal} signal */
async function send(some, told, signal) {
  const body = new FormData();
  for (const file of some) body.append('file', file, file.name);
  const answer = await fetch('/api/library', { method: 'POST', body, signal }).catch(() => null);
  if (!answer) throw new Error(words.link.notChanged);
  if (!answer.ok || !answer.body) {
    const json = await answer.json().catch(() => null);
    await fetchLaptopWords();
    throw new Refused(json?.detail ? said({ why: json.detail, said: json.said }) : words.link.saidNo(answer.status));
  }
  const reader = answer.body.getReader();
  const decoder = new TextDecoder();
  let rest = '';
  for (;;) {
    const { done, value } = await reader.read();
    const lines = (rest + decoder.decode(value, { stream: !done })).split('\n');
    rest = lines.pop() ?? '';
    for (const line of lines) told(JSON.parse(line));
    if (done) return;
  }
}
