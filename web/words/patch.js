// @ts-check
/** The words of the patch, of files with rigs, and of a unit's own switches; see late.js. */
import english from './en-patch.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Patch */

export const onPatch = await inLanguage('patch', english);
