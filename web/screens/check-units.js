// @ts-check
/** One unit after the other: it is lit, somebody looks, and one press says that it works and lights the next. */
import { h, mark, once, styled, tick, write } from '../elements/dom.js';
import { photoButton } from '../elements/photo.js';
import { command } from '../state/asked.js';
import { fixture, modeOf, nameOf, rig } from '../state/rig.js';
import { wordsOf } from '../state/words.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { progress } from './check-progress.js';

/** @typedef {import('../net/contract.js').CheckAt} CheckAt */

const WORDS = late.check;
const LIT_MS = 1200; // it has come up
const STRIDE_MS = 1300; // between two things that are tried; the laptop takes none sooner than a second
const LOST_MS = 3000; // without an answer the buttons work again
const TIMES_S = [0, 4, 8, 15];
const NEXT = ['ArrowRight', 'ArrowDown', 'PageDown', 'MediaTrackNext'];
let everyS = 0;
let walking = false;

/**
 * @param {HTMLElement} main
 * @param {() => CheckAt | undefined} mine
 * @param {AbortSignal} signal
 */
export function checkUnits(main, mine, signal) {
  const channel = h('b', { className: 'channel' });
  const purpose = h('span', { className: 'purpose' });
  const place = h('span', { className: 'place' });
  const where = h('span', { className: 'who' });
  const fault = h('b', { className: 'fault-mark' });
  const tag = h('section', { className: 'tag', 'data-drive': 'hand', 'aria-label': words.fixture.label }, h('i', { className: 'eyelet' }), h('h1', null, channel, h('span', { className: 'about' }, purpose, place)), where, h('p', { className: 'marks' }, fault));
  const told = h('p', { className: 'skipped', role: 'status' });
  const tried = h('small');
  const walk = h('button', { type: 'button', className: 'walk', onclick: () => setWalk(!walking) }, h('b', null, WORDS.walk), tried);
  const timer = h('button', { type: 'button', className: 'walk', onclick: () => ((everyS = TIMES_S[(TIMES_S.indexOf(everyS) + 1) % TIMES_S.length] ?? 0), drawTimer(), again()) });
  const works = h('button', { type: 'button', className: 'main works', onclick: once(() => judged(true)) }, h('b', null, WORDS.works), h('span', null, WORDS.next));
  const wrong = h('button', { type: 'button', className: 'wrong', onclick: once(() => ask()) }, WORDS.fault);
  const back = h('button', { type: 'button', onclick: once(() => void step(true)) }, words.fixture.back);
  const skip = h('button', { type: 'button', onclick: once(() => void step(false)) }, WORDS.skip);
  const stop = h('button', { type: 'button', onclick: once(() => void command({ do: 'check_stop' })) }, WORDS.stop);
  const buttons = h('div', { className: 'thumbs' }, works, h('div', { className: 'others' }, wrong, back, skip, stop));
  const asked = h('div', { className: 'asked', hidden: true });
  main.append(tag, progress(signal), told, h('div', { className: 'tries' }, walk, timer), buttons, asked);

  let lit = '';
  let waits = 0; // until the laptop has answered: a second press in between would pass a unit that nobody saw
  let later = 0;
  signal.addEventListener('abort', () => (clearTimeout(later), clearTimeout(waits)));
  const free = () => {
    clearTimeout(waits);
    waits = 0;
    mark(buttons, 'aria-busy', null);
  };
  const step = async (/** @type {boolean} */ isBack) => {
    clearTimeout(waits);
    waits = window.setTimeout(free, LOST_MS);
    mark(buttons, 'aria-busy', true);
    const answer = await command({ do: 'check_step', back: isBack });
    if (answer.is === 'refused') free();
  };
  /** @param {boolean} good @param {{reason?: string, note?: string, photo?: string}} [more] */
  const judged = (good, more) => {
    const at = mine();
    if (!at?.fixture || waits) return;
    if (at.ended && good) return void command({ do: 'check_stop' });
    tick();
    close();
    void command({ do: 'judge', fixture: at.fixture, works: good, ...more });
    void step(false);
  };
  const close = () => {
    asked.hidden = true;
    mark(main, 'data-asked', null);
    asked.replaceChildren();
    buttons.hidden = false;
    again();
  };
  const ask = () => {
    const at = mine();
    if (!at?.fixture || waits) return;
    clearTimeout(later);
    asked.replaceChildren(...whatIsWrong(at.fixture, (more) => judged(false, more), close));
    asked.hidden = false;
    mark(main, 'data-asked', true);
    main.scrollTop = 0;
    buttons.hidden = true;
  };

  /** What happens by itself: the walk through the unit, then on to the next when a time is set. */
  const again = () => {
    clearTimeout(later);
    if (signal.aborted || !asked.hidden) return;
    const at = mine();
    if (!at || at.ended) return;
    if (walking && at.walk.of) later = window.setTimeout(() => void stride(0), LIT_MS);
    else if (everyS) later = window.setTimeout(() => void step(false), everyS * 1000);
  };
  const stride = async (/** @type {number} */ number) => {
    const at = mine();
    if (!at || signal.aborted) return;
    const answer = number < at.walk.of ? await command({ do: 'check_walk', stride: number }, true) : null;
    if (signal.aborted || mine()?.fixture !== at.fixture || !walking || !asked.hidden) return;
    if (answer?.is === 'ok') later = window.setTimeout(() => void stride(number + 1), STRIDE_MS);
    else if (everyS) later = window.setTimeout(() => void step(false), everyS * 1000);
  };
  const setWalk = (/** @type {boolean} */ on) => {
    walking = on;
    mark(walk, 'aria-pressed', String(on));
    if (!on && mine()?.walk.at !== null) void command({ do: 'check_walk', stride: null }, true);
    again();
  };
  const drawTimer = () => {
    timer.replaceChildren(h('b', null, WORDS.timer), h('small', null, everyS ? WORDS.every(everyS) : WORDS.byHand));
    mark(timer, 'aria-pressed', String(everyS > 0));
  };

  const draw = () => {
    const at = mine();
    const it = at?.fixture ? rig.fixtures.get(at.fixture)?.value : null;
    if (!at) return;
    write(channel, it ? String(it.channel ?? '\u2013') : '\u2013');
    write(purpose, it ? it.purpose || words.fixture.noPurpose : WORDS.gone);
    write(place, it ? `${words.fixture.place(it.position, it.unit)} \u00b7 ${rig.profiles.get(it.profile)?.short_name ?? it.profile}` : '');
    write(where, WORDS.at(at.at, at.of));
    const seen = it?.checked === 'works' ? WORDS.seenWorks : it?.fault ? words.marks.fault(it.fault) : it?.checked ? WORDS.seenFault : '';
    write(fault, seen);
    fault.hidden = !seen;
    const skipped = at.skipped.filter((id) => rig.fixtures.has(id)).map((id) => WORDS.has(nameOf(fixture(id).holder), fixture(id).channel));
    write(told, at.ended ? [WORDS.ended(at.of - at.done), ...skipped].join(' ') : skipped.join(' '));
    told.hidden = !told.textContent;
    write(/** @type {Element} */ (works.firstElementChild), at.ended ? WORDS.end : WORDS.works);
    write(/** @type {Element} */ (works.lastElementChild), at.ended ? WORDS.endWords : WORDS.next);
    const control = it && modeOf(it)?.controls.find(({ key }) => key === at.walk.what);
    write(tried, !at.walk.of ? WORDS.noWalk : control && at.walk.at !== null ? WORDS.tries(wordsOf(control.attribute), at.walk.at + 1, at.walk.of) : WORDS.walkWords);
    const now = `${at.fixture} ${at.ended}`;
    if (now === lit) return;
    lit = now;
    free();
    if (!asked.hidden) close();
    again();
    works.focus({ preventScroll: true });
  };
  for (const cell of [rig.check, rig.holds, rig.list]) cell.read(draw, signal);
  drawTimer();
  mark(walk, 'aria-pressed', String(walking));
  addEventListener('keydown', (event) => {
    const free = event.target === document.body || event.target === main;
    if (!asked.hidden || event.repeat || !(NEXT.includes(event.key) || (free && [' ', 'Enter'].includes(event.key)))) return;
    event.preventDefault();
    works.click();
  }, { signal });
  void styled('elements/photo');
}

/**
 * @param {string} id
 * @param {(more: {reason: string, note: string, photo: string}) => void} done
 * @param {() => void} leave
 * @returns {Node[]}
 */
function whatIsWrong(id, done, leave) {
  let reason = '';
  const names = /** @type {(keyof typeof late.reasons)[]} */ (Object.keys(late.reasons));
  const moves = modeOf(fixture(id))?.controls.some(({ attribute }) => /^(Pan|Tilt)/.test(attribute));
  const chips = names.filter((name) => moves || !['stays_put', 'moves'].includes(name)).map((name) => h('button', { type: 'button', 'data-reason': name, onclick: () => choose(name) }, late.reasons[name]));
  const choose = (/** @type {string} */ name) => {
    reason = reason === name ? '' : name;
    for (const chip of chips) mark(chip, 'aria-pressed', String(chip.dataset.reason === reason));
    draw();
  };
  const note = h('input', { type: 'text', maxLength: 200, placeholder: WORDS.note, 'aria-label': WORDS.note, autocomplete: 'off', enterKeyHint: 'done', oninput: () => draw() });
  const photo = photoButton(id);
  const go = h('button', { type: 'button', className: 'main', onclick: once(() => done({ reason, note: note.value.trim(), photo: photo.photo })) }, h('b', null, WORDS.write), h('span', null, WORDS.next));
  const draw = () => (go.disabled = !reason && !note.value.trim());
  draw();
  return [h('h2', null, WORDS.what(fixture(id).channel)), h('div', { className: 'chips' }, ...chips), note, photo.node, h('div', { className: 'ends' }, h('button', { type: 'button', onclick: leave }, words.app.leaveIt), go)];
}
