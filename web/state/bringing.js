// @ts-check
/** Files being taken in: it goes on whatever screen is shown, and what came of it stays until the next ones. */
import { bring, FILE_MOST, FILES_MOST, isOne } from '../net/bring.js';
import { onLibrary } from '../words/library.js';
import { Cell } from './cell.js';

/** @typedef {import('../net/bring.js').Came} Came */
/**
 * total: files, as far as is known; an archive says late how many it holds. others: names of what is no profile file.
 * end: why it ended before its time.
 * @typedef {{total: number, came: Came[], keys: Set<string>, others: string[], isGoing: boolean, end: string}} Bringing
 */

const WORDS = onLibrary.bring;

/** @type {Cell<Bringing | null>} */
export const bringing = new Cell(/** @type {Bringing | null} */ (null));
let ending = new AbortController();

/** @param {File[]} files */
export async function begin(files) {
  if (bringing.value?.isGoing || !files.length) return;
  ending = new AbortController();
  const those = files.filter(isOne);
  const large = those.filter(({ size }) => size > FILE_MOST);
  /** @type {Bringing} */
  const now = {
    total: those.length,
    came: large.map(({ name }) => ({ name, key: null, problems: [{ where: '', why: WORDS.tooLarge(FILE_MOST / 2 ** 20) }] })),
    keys: new Set(),
    others: files.filter((file) => !isOne(file)).map(({ name }) => name),
    isGoing: true,
    end: files.length > FILES_MOST ? WORDS.tooMany(FILES_MOST) : '',
  };
  bringing.value = now;
  /** @param {import('../net/bring.js').Line} line */
  const told = (line) => {
    if ('archive' in line) now.total += line.holds - 1;
    else {
      now.came.push(line);
      if (line.key) now.keys.add(line.key);
    }
    bringing.touch();
  };
  if (!now.end) await bring(those.filter((file) => !large.includes(file)), told, ending.signal).catch((/** @type {Error} */ error) => (now.end = ending.signal.aborted ? WORDS.stopped : error.message));
  now.isGoing = false;
  bringing.touch();
}

/** What has been taken in stays. */
export const stop = () => ending.abort();

/** @param {Bringing} now @returns {string} all of it, a line for each thing that was left out */
export const report = (now) => [
  ...now.came.flatMap(({ name, key, problems }) => [`${name}\t${key ?? '-'}`, ...problems.map(({ where, why }) => `\t${[where, why].filter(Boolean).join(': ')}`)]),
  ...now.others.map((name) => `${name}\t-\n\t${WORDS.other}`),
  now.end,
].filter(Boolean).join('\n');
