// @ts-check
/** The words of the focus call and of looks, which only their own screens need; see late.js. */
import english from './en-call.js';
import { language } from './words.js';

/** @typedef {typeof english} Call */

/** @returns {Promise<Call>} English where the link went away meanwhile */
async function load() {
  if (language === 'en') return english;
  try {
    return (await import(`./${language}-call.js`)).default;
  } catch {
    return english;
  }
}

export const spoken = await load();
