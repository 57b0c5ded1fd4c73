// @ts-check
/** The words of what comes after the first screen: whoever is not waited for brings its own. What is rarer yet has files of its own. */
import english from './en-late.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Late */

export const late = await inLanguage('late', english);
