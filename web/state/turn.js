// @ts-check
/** Whose turn it is in the focus call: where each is, what comes next for them, what came before. As the laptop decides it. */
import { rig } from './rig.js';

/** @typedef {'todo' | 'done' | 'back'} Mark */

/** @param {string} person @returns {string | undefined} the fixture that person is at */
export const nowAt = (person) => rig.now.value[person];

/** @param {string} id @returns {string[]} who is at that fixture */
export const whoAt = (id) => Object.keys(rig.now.value).filter((person) => rig.now.value[person] === id);

/** @param {string} id @returns {Mark} */
export const markOf = (id) => rig.fixtures.get(id)?.value.focus?.mark ?? 'todo';

/** @returns {string[]} the focus list, without what this phone was not told of */
export const focusList = () => rig.order.value.filter((id) => rig.fixtures.has(id));

/** @param {string} person @param {string} id @returns {boolean} whether light would come from it when that person asks */
function canLight(person, id) {
  const it = rig.fixtures.get(id)?.value;
  return !!it && !it.out_of_use && !it.guarded && it.address !== null && (!it.work_light || rig.people.value[person]?.role === 'lead');
}

/** To do after where they are, then from the top; then what is to come back to. @param {string} person @returns {string | undefined} */
export function following(person) {
  const order = focusList();
  const at = nowAt(person);
  const turned = order.indexOf(at ?? '') + 1;
  const elsewhere = Object.entries(rig.now.value).flatMap(([who, id]) => (who === person ? [] : [id]));
  const given = (/** @type {string} */ id) => rig.fixtures.get(id)?.value.focus?.given ?? null;
  const ahead = [...order.slice(turned), ...order.slice(0, turned)].filter((id) => id !== at && !elsewhere.includes(id) && canLight(person, id) && [null, person].includes(given(id)));
  return ahead.find((id) => markOf(id) === 'todo') ?? ahead.find((id) => markOf(id) === 'back');
}

/** @param {string} person @returns {string | undefined} what stands before on the list and gives light */
export function before(person) {
  const order = focusList();
  return order.slice(0, Math.max(0, order.indexOf(nowAt(person) ?? ''))).findLast((id) => canLight(person, id) && whoAt(id).every((who) => who === person));
}

/** @returns {string[]} ids of the lead and the crew, those with a unit first */
export function everybody() {
  const people = Object.entries(rig.people.value).filter(([id, { role, here }]) => role !== 'house' && (here || nowAt(id)));
  return people.map(([id]) => id).sort((a, b) => Number(!nowAt(a)) - Number(!nowAt(b)));
}
