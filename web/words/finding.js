// @ts-check
/** The words of finding out: which light, which unit answered instead, what is wrong; see late.js. */
import english from './en-finding.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Finding */

export const onFinding = await inLanguage('finding', english);
