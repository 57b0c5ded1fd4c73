// @ts-check
/** The words of profiles: the library, those that are made here, and those that are taught; see late.js. */
import english from './en-library.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Library */

export const onLibrary = await inLanguage('library', english);
