// @ts-check
/** What this phone keeps for its owner: shade, hand, name. Told to other tabs, never to the server. */
import { Cell } from './cell.js';

/** @typedef {'phone' | 'dark' | 'day' | 'night' | 'sharp'} Shade  phone: as the system asks */
/** @typedef {'right' | 'left'} Hand */
/** @typedef {'own' | 'percent' | 'raw'} Numbers  own: the control's own unit where it has one; raw: 0-255 */
/** @typedef {'position' | 'channel'} Sort */

/** @param {string} key @param {string} otherwise @returns {string} what this phone keeps under that name */
export function kept(key, otherwise) {
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
  numbers: new Cell(/** @type {Numbers} */ (kept('numbers', 'own'))),
  /** As words.js has them; "": the phone's own. */
  language: new Cell(/** @type {'' | 'en' | 'de'} */ (kept('language', ''))),
  sort: new Cell(/** @type {Sort} */ (kept('sort', 'position'))),
  /** Next lights the next fixture up, then lets the last one go. */
  withLight: new Cell(kept('with-light', '')),
  /** Short soft tones: a dark that was called, the time that runs while something is armed. */
  sound: new Cell(kept('sound', '1')),
  /** Fixture ids: starred by hand; the ones seen last, newest first. */
  stars: new Cell(kept('stars', '').split(' ').filter(Boolean)),
  recent: new Cell(kept('recent', '').split(' ').filter(Boolean)),
  get name() {
    return kept('name', '');
  },
  /** This phone has joined before: try its cookie before asking for a name. */
  get isIn() {
    return kept('in', '') !== '';
  },
};

/**
 * @param {'numbers' | 'language' | 'sort' | 'withLight' | 'sound' | 'stars' | 'recent'} name
 * @param {any} value
 */
export function choose(name, value) {
  prefs[name].value = value;
  keep(name.replace(/[A-Z]/, (big) => `-${big.toLowerCase()}`), Array.isArray(value) ? value.join(' ') : value);
}

/** @param {string[]} ids @param {boolean} on */
export const star = (ids, on) => choose('stars', [...prefs.stars.value.filter((one) => !ids.includes(one)), ...(on ? ids : [])]);

const RECENT = 12; // some of them may be starred, or of another rig
/** @param {string} id */
export const visited = (id) => choose('recent', [id, ...prefs.recent.value.filter((one) => one !== id)].slice(0, RECENT));

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
