// @ts-check
/** The bar under the list while somebody picks fixtures to drive together. */
import { h, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { prefs, star } from '../state/prefs.js';
import { fixture, rig } from '../state/rig.js';
import { focusList } from '../state/turn.js';
import { spans } from '../state/together.js';
import { spoken } from '../words/call.js';
import { late } from '../words/late.js';

const WORDS = late.pick;

/** @typedef {import('../state/cell.js').Cell<Set<string> | null>} Picks */

/**
 * @param {HTMLElement} bar where to draw
 * @param {Picks} picks
 * @param {() => string[]} found what the present search finds
 * @param {AbortSignal} signal
 */
export function drawBar(bar, picks, found, signal) {
  let leftOut = 0;
  const take = (/** @type {string[]} */ ids) => {
    const can = ids.filter((id) => !fixture(id).guarded);
    leftOut = ids.length - can.length;
    for (const id of can) picks.value?.add(id);
    picks.touch();
  };
  const line = h('p', { className: 'count', role: 'status' });
  const all = h('button', { type: 'button', onclick: () => take(found()) });
  const type = h('button', { type: 'button', onclick: () => askType(picks, take) }, WORDS.type);
  const starred = h('button', { type: 'button', onclick: () => star(picked(picks), !isStarred()) });
  const none = h('button', { type: 'button', onclick: () => (picks.value = new Set()) }, WORDS.none);
  const stop = h('button', { type: 'button', className: 'end', onclick: () => (picks.value = null) }, WORDS.stop);
  const drive = h('button', { type: 'button', className: 'main', onclick: () => (location.hash = `#several/${picked(picks).map(encodeURIComponent).join(',')}`) });
  // In the order in which they hang, behind what is on the list already.
  const list = h('button', { type: 'button', className: 'to-list', onclick: () => void toList(picked(picks)) }, spoken.focus.toList);
  const isStarred = () => picked(picks).every((id) => prefs.stars.value.includes(id));
  const draw = () => {
    if (!picks.value) return;
    const ids = picked(picks);
    const here = found();
    const can = here.filter((id) => !fixture(id).guarded).length;
    write(line, WORDS.picked(ids.length, spans(ids)) + (leftOut && ids.length ? WORDS.guarded(leftOut) : ''));
    write(all, here.length < rig.list.value.length ? WORDS.found(can) : WORDS.all(can));
    write(drive, WORDS.drive(ids.length));
    write(starred, ids.length && isStarred() ? WORDS.unstar : WORDS.star);
    list.hidden = rig.you.value.role !== 'lead';
    for (const button of [drive, starred, none, list]) button.disabled = !ids.length;
    leftOut = ids.length ? leftOut : 0;
  };
  bar.replaceChildren(line, all, type, starred, none, list, stop, drive);
  picks.read(draw, signal);
  prefs.stars.read(draw, signal);
}

/** @param {Picks} picks @returns {string[]} those that still hang there, in hang order */
const picked = (picks) => rig.list.value.filter((id) => picks.value?.has(id));

/** @param {string[]} ids */
async function toList(ids) {
  const order = focusList();
  try {
    await call('PUT', '/api/order', { order: [...order, ...ids.filter((id) => !order.includes(id))] });
    location.hash = '#focus';
  } catch (error) {
    say(/** @type {Error} */ (error).message);
  }
}

/** @param {Picks} picks @param {(ids: string[]) => void} take */
function askType(picks, take) {
  /** @type {Map<string, string[]>} */
  const types = new Map();
  for (const id of rig.list.value) {
    const { profile, guarded } = fixture(id);
    if (guarded) continue;
    types.get(profile)?.push(id) ?? types.set(profile, [id]);
  }
  const ways = [...types].map(([profile, ids]) => {
    const button = h('button', { type: 'button', onclick: () => (take(ids), end()) }, h('b', null, rig.profiles.get(profile)?.name ?? profile), h('small', null, WORDS.ofType(ids.filter((id) => picks.value?.has(id)).length, ids.length)));
    return button;
  });
  const dialog = h('dialog', { className: 'types', 'aria-label': WORDS.types }, h('h2', null, WORDS.types), h('div', { className: 'choice' }, ...ways), h('button', { type: 'button', onclick: () => end() }, WORDS.done));
  const end = () => {
    dialog.close();
    dialog.remove();
  };
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}
