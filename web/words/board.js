// @ts-check
/** The words of the whole rig on a large screen; see late.js. */
import english from './en-board.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Board */

export const onBoard = await inLanguage('board', english);
