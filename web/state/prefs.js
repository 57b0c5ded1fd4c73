// @ts-check
/** What this phone keeps for its owner: shade, hand, name. Told to other tabs, never to the server. */
import { Cell } from './cell.js';

/** @typedef {'phone' | 'dark' | 'day' | 'night' | 'sharp'} Shade  phone: as the system asks */
/** @typedef {'right' | 'left'} Hand */

/** @param {string} key @param {string} otherwise */
function kept(key, otherwise) {
  try {
    return localStorage.getItem(`fc.${key}`) ?? otherwise;
  } catch {
    return otherwise; // storage switched off
  }
}

/** @param {string} key @param {string | null} value null forgets */
export function keep(key, value) {
  try {
    if (value === null) localStorage.removeItem(`fc.${key}`);
    else localStorage.setItem(`fc.${key}`, value);
  } catch {
    // nothing is lost but the memory of it
  }
}

export const prefs = {
  shade: new Cell(/** @type {Shade} */ (kept('shade', 'phone'))),
  hand: new Cell(/** @type {Hand} */ (kept('hand', 'right'))),
  get name() {
    return kept('name', '');
  },
  /** This phone has joined before: try its cookie before asking for a name. */
  get isIn() {
    return kept('in', '') !== '';
  },
};

const light = matchMedia('(prefers-color-scheme: light)');
const contrast = matchMedia('(prefers-contrast: more)');

/** @returns {Exclude<Shade, 'phone'>} the shade in force */
export function shadeNow() {
  if (prefs.shade.value !== 'phone') return prefs.shade.value;
  if (contrast.matches) return 'sharp';
  return light.matches ? 'day' : 'dark';
}

function wear() {
  const root = document.documentElement;
  root.dataset.theme = shadeNow();
  root.dataset.hand = prefs.hand.value;
  // The phone's own bars take the colour of the page: a white one would blind somebody in the dark.
  const ground = getComputedStyle(root).getPropertyValue('--ground').trim();
  document.querySelector('meta[name=theme-color]')?.setAttribute('content', ground || '#000');
}

/** @param {Shade} shade */
export function setShade(shade) {
  prefs.shade.value = shade;
  keep('shade', shade);
  wear();
}

/** @param {Hand} hand */
export function setHand(hand) {
  prefs.hand.value = hand;
  keep('hand', hand);
  wear();
}

wear();
light.addEventListener('change', wear);
contrast.addEventListener('change', wear);
window.addEventListener('storage', (event) => {
  if (event.key === 'fc.shade' && event.newValue) prefs.shade.value = /** @type {Shade} */ (event.newValue);
  if (event.key === 'fc.hand' && event.newValue) prefs.hand.value = /** @type {Hand} */ (event.newValue);
  wear();
});
