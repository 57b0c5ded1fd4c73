// @ts-check
/** Several fixtures driven as one: what they have in common, and where each of them goes. No DOM. */
import { shown } from './asked.js';
import { fixture, modeOf, rig } from './rig.js';
import { gripsOf, isStepped } from './sheet.js';
import { fractionOf, rawOf, within } from './values.js';

/** @typedef {import('./sheet.js').Grip} Grip */
/** @typedef {import('../net/contract.js').Control} Control */
/** @typedef {import('../net/contract.js').Mode} Mode */
/** One of them, with its grips by name: the attribute, or "attribute/" for the cells beside it. @typedef {{id: string, grips: Map<string, Grip>}} Member */
/** Fixture to a place in 0..1 of its own span. @typedef {Map<string, number>} Places */

/** Swings or travels: frozen while hands are on the unit. */
const MOVES = /^(Pan|Tilt|XYZ_)/;

/** @param {string[]} ids @returns {Member[]} */
export function membersOf(ids) {
  /** @type {Map<Mode, Map<string, Grip>>} */
  const known = new Map();
  return ids.map((id) => {
    const mode = modeOf(fixture(id)) ?? { name: '', controls: [] };
    const grips = known.get(mode) ?? byName(gripsOf(mode, null, null));
    known.set(mode, grips);
    return { id, grips };
  });
}

/** @param {Grip[]} grips @returns {Map<string, Grip>} */
function byName(grips) {
  const named = new Map();
  for (const grip of grips) named.set(named.has(grip.control.attribute) ? `${grip.control.attribute}/` : grip.control.attribute, grip);
  return named;
}

/** @param {Grip | undefined} grip */
const works = (grip) => JSON.stringify([grip?.control.functions, grip?.control.offset.length]);

/**
 * What all of them have. A stepped control counts only where it works alike in all: the same tap must mean the same.
 * @param {Member[]} members
 * @returns {{names: string[], unlike: string[]}} unlike: labels of those that work differently, and are left out
 */
export function inCommon(members) {
  const [first, ...others] = members;
  const names = [];
  const unlike = [];
  for (const [name, grip] of first?.grips ?? []) {
    if (grip.locked || !others.every(({ grips }) => grips.has(name))) continue;
    const stepped = members.some(({ grips }) => isStepped(/** @type {Grip} */ (grips.get(name)).control));
    const alike = others.every(({ grips }) => grips === first?.grips || works(grips.get(name)) === works(grip));
    if (alike || !stepped) names.push(name);
    else unlike.push(grip.label);
  }
  return { names, unlike };
}

/** Only those that the server would let move. @param {Member[]} members @param {string} name @returns {[string, Grip][]} */
export function reach(members, name) {
  return members.flatMap(({ id, grips }) => {
    const grip = grips.get(name);
    const frozen = fixture(id).hands_on.length > 0 && MOVES.test(name);
    return grip && !grip.locked && !frozen && rig.fixtures.has(id) ? [/** @type {[string, Grip]} */ ([id, grip])] : [];
  });
}

/** @param {Grip} grip @param {string} id @returns {number} 0..1 of its span, as asked here or as the server says */
export const placeOf = (grip, id) => placeAt(grip, shown(id, grip.keys[0] ?? ''));

/** @param {Grip} grip @param {number} fraction */
export const placeAt = (grip, fraction) => within((fraction - grip.low) / (grip.high - grip.low || 1));

/** @param {Grip} grip @param {number} place 0..1 of its span @returns {Record<string, number>} fractions of its keys */
export function valuesAt(grip, place) {
  const fraction = fractionOf(grip.control, rawOf(grip.control, grip.low + place * (grip.high - grip.low)));
  return Object.fromEntries(grip.keys.map((key) => [key, fraction]));
}

/**
 * All by the same amount; who comes to an end stays there. Going back in the same move finds the old distances again.
 * @param {Places} starts
 * @param {number} by
 * @returns {{places: Places, by: number, stopped: number}} by: no more than moves anybody; stopped: how many are at an end
 */
export function movedBy(starts, by) {
  const from = [...starts.values()];
  by = within(by, -Math.max(0, ...from), 1 - Math.min(1, ...from));
  let stopped = 0;
  const places = new Map();
  for (const [id, start] of starts) {
    const to = start + by;
    const place = within(to);
    if (Math.abs(place - to) > 1e-9) stopped += 1;
    places.set(id, place);
  }
  return { places, by, stopped };
}

/** @param {string[]} ids @returns {string} their channels, neighbours joined: "1-4, 21" */
export function spans(ids) {
  const numbers = ids.map((id) => fixture(id).channel).sort((a, b) => a - b);
  /** @type {[number, number][]} */
  const runs = [];
  for (const number of numbers) {
    const last = runs.at(-1);
    if (last && number - last[1] <= 1) last[1] = number;
    else runs.push([number, number]);
  }
  return runs.map(([from, to]) => (to > from + 1 ? `${from}\u2013${to}` : to > from ? `${from}, ${to}` : String(from))).join(', ');
}
