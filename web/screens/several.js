// @ts-check
/** Several fixtures in one hand: what they have in common, by the same amount or to the same value. */
import { h, mark, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { prefs } from '../state/prefs.js';
import { fixture, nameOf, rig } from '../state/rig.js';
import { spans } from '../state/together.js';
import { percent } from '../state/values.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { drawAgain } from './fixture.js';
import { makeHand } from './handful.js';
import { faderPane, same } from './pane-span.js';

const WORDS = late.several;

const MANY = 12; // lights coming up at once are worth a thought about the supply (common practice, no source)

/** @typedef {import('../state/words.js').Group} Group */

/** Kept from one handful to the next. @type {Group} */
let group = 'Level';
let paneAt = 0;
let relative = true;

/** @param {import('../app.js').Stage} stage */
export function show({ main, shelf, args, signal }) {
  const asked = (args[0] ?? '').split(',');
  const here = asked.filter((id) => rig.fixtures.has(id));
  rig.list.read(() => asked.filter((id) => rig.fixtures.has(id)).length === here.length || drawAgain(), signal);
  const sorted = here.map((id) => fixture(id));
  const role = rig.you.value.role;
  const guarded = here.filter((id) => fixture(id).guarded || rig.profiles.get(fixture(id).profile)?.guarded);
  const notHouse = here.filter((id) => !guarded.includes(id) && role === 'house' && !fixture(id).house);
  const active = here.filter((id) => !guarded.includes(id) && !notHouse.includes(id));
  /** Why some more were left out, in words. @type {Map<string, string>} */
  const leftOut = new Map();
  const left = h('p', { className: 'hint' });
  const drawLeft = () => {
    const words = [guarded.length && WORDS.guarded(spans(guarded)), notHouse.length && WORDS.house(spans(notHouse))];
    for (const why of new Set(leftOut.values())) {
      const which = spans([...leftOut].filter(([id, one]) => one === why && rig.fixtures.has(id)).map(([id]) => id));
      words.push(why ? WORDS.refused(which, why) : WORDS.left(which));
    }
    write(left, words.filter(Boolean).join(' '));
    left.hidden = !words.some(Boolean);
  };
  drawLeft();
  if (!active.length) {
    const words = sorted.length ? WORDS.nothingLeft : rig.link.value === 'live' ? WORDS.gone : WORDS.looking;
    main.append(h('h1', null, words), left, h('a', { className: 'button', href: '#fixtures' }, WORDS.all));
    return;
  }
  const hand = makeHand(active, leftOut, drawLeft, () => relative, signal);
  const picker = h('div', { className: 'choice picker', role: 'group', 'aria-label': WORDS.controls });
  const place = h('div', { className: 'pane' });
  const unlike = h('p', { className: 'hint' }, hand.unlike.length ? WORDS.unlike(hand.unlike.join(', ')) : '');
  unlike.hidden = !hand.unlike.length;
  const caution = h('p', { className: 'caution' }, WORDS.move);
  const modes = /** @type {const} */ ([[true, WORDS.relative], [false, WORDS.absolute]]);
  const choices = modes.map(([is, words]) => h('button', { type: 'button', onclick: () => ((relative = is), drawMode()) }, words));
  const mode = h('div', { className: 'choice fineness', role: 'group', 'aria-label': WORDS.how }, ...choices);
  const drawMode = () => {
    choices.forEach((button, at) => mark(button, 'aria-pressed', String(modes[at]?.[0] === relative)));
    hand.forgetEnds();
  };
  drawMode();
  const first = h('p', { className: 'hint' });
  let paneEnd = new AbortController();
  signal.addEventListener('abort', () => paneEnd.abort());

  const draw = async () => {
    const now = hand.sheet.has(group) ? group : ([...hand.sheet.keys()][0] ?? 'Level');
    const panes = hand.sheet.get(now) ?? [];
    const pane = panes[Math.min(paneAt, panes.length - 1)];
    const pages = [...hand.sheet.keys()].map((name) => h('button', { type: 'button', 'aria-current': name === now ? 'page' : null, onclick: () => ((group = name), (paneAt = 0), void draw()) }, words.groups[name]));
    shelf.replaceChildren(h('a', { href: '#fixtures', className: 'back' }, WORDS.list), ...pages);
    picker.replaceChildren(...panes.map((one, at) => h('button', { type: 'button', 'aria-pressed': String(one === pane), onclick: () => ((paneAt = at), void draw()) }, one.title)));
    picker.hidden = panes.length < 2;
    caution.hidden = pane?.kind !== 'aim';
    mode.hidden = !pane || ['disc', 'steps', 'white'].includes(pane.kind);
    first.hidden = pane?.kind === 'faders' || !pane;
    hand.forgetEnds();
    paneEnd.abort();
    const end = (paneEnd = new AbortController());
    if (!pane) return place.replaceChildren(h('p', { className: 'empty' }, WORDS.nothingCommon));
    const made = await makePane(pane, hand, end.signal);
    if (end.signal.aborted) return;
    place.replaceChildren(made.node);
    place.dataset.kind = pane.kind;
    hand.read(() => {
      made.update();
      write(first, WORDS.shows(spans(hand.members.slice(0, 1).map(({ id }) => id))));
    }, end.signal);
    prefs.numbers.read(made.update, end.signal);
  };
  hand.read(drawLeft, signal);
  main.append(makeTag(hand, signal), left, h('div', { className: 'sheet' }, caution, picker, mode, place, hand.ends, first, unlike), makeRow(hand, signal));
  void draw();
}

/** @param {import('../state/sheet.js').Pane} pane @param {Hand} hand @param {AbortSignal} signal */
async function makePane(pane, hand, signal) {
  const reach = { ...hand.reach, signal };
  if (pane.kind === 'aim') return (await import('./pane-aim.js')).aimPane(pane, reach);
  // A mixed colour and a named place are the same for all, or they are nothing.
  const alike = { ...reach, put: hand.putAlike };
  if (pane.kind === 'disc') return (await import('./pane-disc.js')).discPane(pane, alike);
  if (pane.kind === 'white') return (await import('./pane-white.js')).whitePane(pane, alike);
  if (pane.kind === 'steps') return (await import('./pane-steps.js')).stepsPane(pane, alike);
  return faderPane(/** @type {import('../state/sheet.js').Faders} */ (pane).grips, hand, () => relative);
}

/** @typedef {import('./handful.js').Hand} Hand */

/** @param {Hand} hand @param {AbortSignal} signal */
function makeTag(hand, signal) {
  const channel = h('b', { className: 'channel' });
  const purpose = h('span', { className: 'purpose' });
  const place = h('span', { className: 'place' });
  const who = h('span', { className: 'who' });
  const level = h('b', { className: 'leaving' });
  const words = h('span', { className: 'leaving-words' });
  const title = h('h1', null, channel, h('span', { className: 'about' }, purpose, place));
  const tag = h('section', { className: 'tag bundle', 'aria-label': WORDS.these }, h('i', { className: 'eyelet' }), title, h('span', { className: 'now' }, level, words), who);
  hand.read(() => {
    const all = hand.members.map(({ id }) => fixture(id));
    write(channel, String(all.length));
    write(purpose, spans(hand.members.map(({ id }) => id)));
    const kinds = new Set(all.map((it) => rig.profiles.get(it.profile)?.name ?? it.profile));
    write(place, kinds.size > 2 ? `${[...kinds].slice(0, 2).join('; ')}; ${WORDS.moreTypes(kinds.size - 2)}` : [...kinds].join('; '));
    const levels = all.map((it) => it.level);
    const [low, high] = [Math.min(1, ...levels), Math.max(0, ...levels)];
    write(level, same(`${percent(low)}\u202f%`, `${percent(high)}\u202f%`));
    write(words, high > 0 ? WORDS.sent : WORDS.zero);
    /** @type {Map<string, number>} */
    const holders = new Map();
    for (const { holder } of all) if (holder) holders.set(holder, (holders.get(holder) ?? 0) + 1);
    const me = rig.you.value.id;
    const mine = holders.get(me) ?? 0;
    const theirs = [...holders].filter(([id]) => id !== me).map(([id, count]) => WORDS.has(nameOf(id), count));
    write(who, [mine ? WORDS.mine(mine, all.length) : '', ...theirs].filter(Boolean).join(' · ') || WORDS.nobody);
    mark(tag, 'data-drive', theirs.length ? 'other' : mine ? 'hand' : high > 0 ? 'look' : 'home');
  }, signal);
  return tag;
}

/** @param {Hand} hand @param {AbortSignal} signal */
function makeRow(hand, signal) {
  const moves = hand.members.some(({ grips }) => grips.has('Pan') || grips.has('Tilt'));
  const lightUp = async () => {
    if (!hand.free()) return;
    const no = await hand.each((id) => ({ do: 'light_up', fixture: id, ...(moves ? { as_it_hangs: true } : {}) }), hand.members.map(({ id }) => id));
    hand.undo.forget();
    if (no[0]) say(WORDS.noLight(spans(no.map(({ id }) => id)), no[0].why));
  };
  const count = hand.members.length;
  const light = count > MANY
    ? holdButton(`${WORDS.light} ${count}`, WORDS.holdLight(count), () => void lightUp())
    : h('button', { type: 'button', className: 'main', onclick: once(() => void lightUp()) }, h('b', null, `${WORDS.light} ${count}`), moves ? h('small', null, WORDS.hangs) : null);
  const areMine = () => hand.members.every(({ id }) => fixture(id).holder === rig.you.value.id);
  const letGo = async () => {
    await hand.each((id) => ({ do: 'let_go', fixture: id }), hand.members.map(({ id }) => id).filter((id) => fixture(id).holder === rig.you.value.id));
    hand.undo.forget();
  };
  const take = h('button', { type: 'button', className: 'hand', onclick: once(() => void (hand.free() && hand.takeAll())) }, WORDS.takeAll);
  const free = h('button', { type: 'button', className: 'hand', onclick: once(() => void letGo()) }, WORDS.letGo);
  hand.read(() => {
    take.disabled = areMine();
    free.disabled = !hand.members.some(({ id }) => fixture(id).holder === rig.you.value.id);
  }, signal);
  return h('div', { className: 'hand-row' }, hand.undo.button, light, take, free);
}
