// @ts-check
/** The words of the whole show, its papers and its people; see late.js. */
import english from './en-show.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Show */

export const onShow = await inLanguage('show', english);
