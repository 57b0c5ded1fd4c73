// @ts-check
/** The language of this phone: its words, and how it writes numbers. */
import { kept } from '../state/prefs.js';
import english from './en.js';

/** @typedef {typeof english} Words */
/** @typedef {'en' | 'de'} Language */

/** Each by its own name, so that whoever needs it can read it. @type {[Language | '', string][]} */
export const LANGUAGES = [['', 'Auto'], ['en', 'English'], ['de', 'Deutsch']];

/** @returns {Language} chosen on this phone, else the first of its own that we speak */
function wanted() {
  const known = (/** @type {string} */ name) => /** @type {Language | undefined} */ (LANGUAGES.find(([one]) => one && one === name.slice(0, 2))?.[0]);
  for (const name of [kept('language', ''), ...navigator.languages]) {
    const language = known(name.toLowerCase());
    if (language) return language;
  }
  return 'en';
}

/** English is here already; another is fetched before anything is drawn. Without a link to fetch it by: English. */
async function load() {
  const language = wanted();
  if (language === 'en') return { language, words: english };
  try {
    /** @type {{default: Words}} */
    const other = await import(`./${language}.js`);
    return { language, words: other.default };
  } catch {
    return { language: /** @type {Language} */ ('en'), words: english };
  }
}

export const { language, words } = await load();
document.documentElement.lang = language;

/**
 * The words that come later, each part with the modules that say them.
 * @template T
 * @param {string} part as its files are called, after the language
 * @param {T} english
 * @returns {Promise<T>} English where the link went away meanwhile
 */
export async function inLanguage(part, english) {
  if (language === 'en') return english;
  try {
    return (await import(`./${language}-${part}.js`)).default;
  } catch {
    return english;
  }
}

/** @type {ReturnType<typeof import('./profiles.js').namer> | null} */
let profiles = null;
/** @type {ReturnType<typeof import('./server.js').speaker> | null} */
let laptop = null;

/**
 * Fetches what our own profiles are called in this language; in English there is nothing to wait for.
 * @returns {Promise<boolean>} whether it is here; without a link they stay English
 */
export async function fetchProfileWords() {
  if (language === 'en') return false;
  profiles ??= await Promise.all([import('./profiles.js'), import(`./${language}-profiles.js`)])
    .then(([{ namer }, names]) => namer(names.default), () => null);
  return profiles !== null;
}

/** Fetches what puts the laptop's sentences into this language; without a link they stay English. */
export async function fetchLaptopWords() {
  if (language === 'en') return;
  laptop ??= await Promise.all([import('./server.js'), import(`./${language}-server.js`), import(`./${language}-record.js`), fetchProfileWords()])
    .then(([{ speaker }, server, record]) => speaker(server, record, number, (text) => profiles?.word(text) ?? text), () => null);
}

/** At once, or as soon as what the laptop has told can be said in this language. @param {() => void} tell */
export function onceSaid(tell) {
  if (language === 'en' || laptop) tell();
  else void fetchLaptopWords().then(tell);
}

/** @param {{why: string, said?: import('../net/contract.js').Said}} told @returns {string} the laptop's sentence as this phone says it */
export const said = (told) => laptop?.(told) ?? told.why;

/** @param {import('../net/contract.js').Profile} profile @returns {import('../net/contract.js').Profile} as this phone names what is in it */
export const named = (profile) => profiles?.ours(profile) ?? profile;

/** The decimal sign of this language. */
export const POINT = words.values.point;

/**
 * A number as this language writes it, with a true minus sign and no grouping. Written by hand: the browser's own
 * formatter takes longer to wake than the whole first screen.
 * @param {number} value
 * @param {number} [digits] after the decimal sign
 */
export function number(value, digits = 0) {
  const far = Math.abs(value);
  const parts = String(far).includes('e') ? far * 10 ** digits : Number(`${far}e${digits}`); // 1.005 is 100.5 parts here, not 100.49
  const text = Number(`${Math.round(parts)}e-${digits}`).toFixed(digits);
  return (value < 0 && /[1-9]/.test(text) ? '\u2212' : '') + text.replace('.', POINT); // what rounds to nothing has no sign
}
