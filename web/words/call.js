// @ts-check
/** The words of the focus call and of looks, which only their own screens need; see late.js. */
import english from './en-call.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Call */

export const spoken = await inLanguage('call', english);
