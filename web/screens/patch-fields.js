// @ts-check
/** The columns of the patch: how a fixture's field is written in its cell, and how what is typed there is read. */
import { rig } from '../state/rig.js';
import { onPatch } from '../words/patch.js';
import { words } from '../words/words.js';

/** @typedef {import('../net/contract.js').Fixture} Fixture */
/** Some fields of a fixture, as the laptop takes them. @typedef {Record<string, unknown>} Fields */
/** @typedef {'channel' | 'unit' | 'position' | 'purpose' | 'profile' | 'mode' | 'place' | 'house' | 'guarded' | 'work_light' | 'notes'} Name */
/**
 * `read` answers fields, or a sentence why not. counts: whether several can count upwards from one.
 * @typedef {{name: Name, flag?: boolean, counts?: boolean, write: (it: Fixture) => string, read: (text: string, it: Fixture) => Fields | string}} Column
 */

const WORDS = onPatch.patch;
const MOST_CHANNEL = 99999; // as the laptop takes them
const YES = /^(x|1|yes|y|true|ja|j|wahr|\u2713)$/i;

/** @param {'unit' | 'position' | 'purpose' | 'notes'} name @returns {Column} */
const plain = (name) => ({ name, counts: name === 'unit', write: (it) => it[name] ?? '', read: (text) => ({ [name]: text.trim() }) });

/** @param {'house' | 'guarded' | 'work_light'} name @returns {Column} */
const flag = (name) => ({ name, flag: true, write: (it) => (it[name] ? '\u2713' : ''), read: (text) => ({ [name]: YES.test(text.trim()) }) });

/** @type {Column[]} */
export const COLUMNS = [
  { name: 'channel', counts: true, write: (it) => String(it.channel ?? ''), read: readChannel },
  plain('unit'),
  plain('position'),
  plain('purpose'),
  { name: 'profile', write: (it) => rig.profiles.get(it.profile)?.name ?? it.profile, read: (text) => ({ profile: keyOf(text.trim()) }) },
  { name: 'mode', write: (it) => it.mode, read: (text) => ({ mode: text.trim() }) },
  { name: 'place', counts: true, write: (it) => placesOf(it).join(' '), read: readPlaces },
  flag('house'),
  flag('guarded'),
  flag('work_light'),
  plain('notes'),
];

/** @param {Name} name @returns {Column} */
export const columnOf = (name) => /** @type {Column} */ (COLUMNS.find((column) => column.name === name));

/** @param {string} text */
function readChannel(text) {
  const typed = text.trim();
  if (!typed) return { channel: null };
  return /^\d+$/.test(typed) && Number(typed) <= MOST_CHANNEL ? { channel: Number(typed) } : WORDS.wrongChannel(MOST_CHANNEL);
}

/** @param {{universe: number | null, address: number | null, starts?: {universe: number, address: number}[]}} it @returns {string[]} its start addresses, as people write them */
export const placesOf = ({ universe, address, starts = [] }) => [...(universe && address ? [{ universe, address }] : []), ...starts].map((one) => `${one.universe}.${one.address}`);

/**
 * "2.101"; "101" in the universe it is in; nothing: not patched; "2.101 2.201": also its further start addresses.
 * @param {string} text @param {Fixture} it @returns {Fields | string}
 */
function readPlaces(text, it) {
  const typed = text.trim().split(/[\s;]+/).filter(Boolean);
  if (!typed.length) return { universe: null, address: null, starts: [] };
  const found = [];
  for (const one of typed) {
    const [, universe, address] = /^(?:(\d{1,5})[./:,])?(\d{1,3})$/.exec(one) ?? [];
    if (!address) return WORDS.wrongPlace;
    found.push({ universe: Number(universe ?? it.universe ?? 1), address: Number(address) });
  }
  const [first, ...further] = found;
  const starts = further.map((one, at) => ({ number: it.starts?.[at]?.number ?? at + 2, ...one }));
  return { ...first, ...(further.length ? { starts } : {}) };
}

/** A profile by its key or by a name that this page knows; else as it was typed. @param {string} text */
function keyOf(text) {
  const wanted = text.toLowerCase();
  for (const [key, profile] of rig.profiles) if ([key, profile.name, profile.called].some((name) => name?.toLowerCase() === wanted)) return key;
  return text;
}

/** @param {Fields} fields as proposed @param {Fixture} it as it hangs @returns {Fixture} as it would be */
export const asProposed = (fields, it) => /** @type {Fixture} */ ({ ...it, ...fields });

/** What a person calls it in a sentence. @param {Partial<Fixture>} it */
export const called = (it) => (it.channel != null ? String(it.channel) : [it.position, it.unit && words.list.unit(it.unit)].filter(Boolean).join(' ') || WORDS.nameless);

/** The number at the end of a text counted on by `step`; "3A" stays. @param {string} text @param {number} step */
export const countedOn = (text, step) => text.replace(/\d+$/, (digits) => String(Number(digits) + step).padStart(digits.startsWith('0') ? digits.length : 0, '0'));

/** What a new one begins as: the fields of its patch. */
export const BARE = /** @type {Fixture} */ (/** @type {unknown} */ ({ channel: null, unit: '', position: '', purpose: '', profile: '', mode: '', universe: null, address: null, house: false, guarded: false, work_light: false, notes: '' }));
