// @ts-check
/** The words of what comes after the first screen: whoever is not waited for brings its own. */
import english from './en-late.js';
import { language } from './words.js';

/** @typedef {typeof english} Late */

/** @returns {Promise<Late>} English where the link went away meanwhile */
async function load() {
  if (language === 'en') return english;
  try {
    return (await import(`./${language}-late.js`)).default;
  } catch {
    return english;
  }
}

export const late = await load();
