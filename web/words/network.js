// @ts-check
/** The words of what others send, of nodes and of where levels go; see late.js. */
import english from './en-network.js';
import { inLanguage } from './words.js';

/** @typedef {typeof english} Network */

export const onNetwork = await inLanguage('network', english);
