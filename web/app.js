// @ts-check
/** Joins the screens to the hash, and keeps what is always in sight: the link, the shelf, the sentences. */
import { h, mark, styled, write } from './elements/dom.js';
import { hush, say } from './elements/say.js';
import { open } from './net/live.js';
import * as fixtureScreen from './screens/fixture.js';
import * as listScreen from './screens/list.js';
import { answers, command, set } from './state/asked.js';
import { prefs, setShade, shadeNow } from './state/prefs.js';
import { alertsHere, fixture, mine, nameOf, nameProfiles, rig, waits } from './state/rig.js';
import { wordsOf } from './state/words.js';
import { fetchLaptopWords, number, said, words } from './words/words.js';

/**
 * What a screen gets: where to draw, what the hash said after its name, and when to end. `turn`: where a sheet beside
 * something else leads to another fixture.
 * @typedef {{main: HTMLElement, shelf: HTMLElement, args: string[], signal: AbortSignal, turn?: (id: string) => void}} Stage
 * @typedef {{show: (stage: Stage) => void}} Screen
 */

const main = /** @type {HTMLElement} */ (document.getElementById('screen'));
const shelf = /** @type {HTMLElement} */ (document.getElementById('shelf'));
const status = /** @type {HTMLElement} */ (document.getElementById('status'));

/** @type {Record<string, () => Screen | Promise<Screen>>} */
const SCREENS = {
  fixtures: () => listScreen,
  fixture: () => fixtureScreen,
  scanned: () => import('./screens/scanned.js'),
  join: () => import('./screens/join.js'),
  check: () => styled('screens/check').then(() => import('./screens/check.js')),
  faults: () => styled('screens/faults').then(() => import('./screens/faults.js')),
  focus: () => Promise.all([styled('screens/focus'), styled('screens/shout')]).then(() => import('./screens/focus.js')),
  looks: () => import('./screens/looks.js'),
  slots: () => import('./screens/slots.js'),
  several: () => styled('screens/several').then(() => import('./screens/several.js')),
  rig: () => import('./screens/rig.js'),
  patch: () => styled('screens/patch').then(() => import('./screens/patch.js')),
  library: () => styled('screens/library').then(() => import('./screens/library.js')),
  bring: () => styled('screens/bring').then(() => import('./screens/bring.js')),
  switches: () => styled('screens/switches').then(() => import('./screens/switches.js')),
  seek: () => styled('screens/seek').then(() => import('./screens/seek.js')),
  instead: () => styled('screens/seek').then(() => import('./screens/instead.js')),
  profile: () => styled('screens/profile').then(() => import('./screens/profile.js')),
  teach: () => styled('screens/teach').then(() => import('./screens/teach.js')),
  nodes: () => styled('screens/nodes').then(() => import('./screens/nodes.js')),
  beside: () => styled('screens/beside').then(() => import('./screens/beside.js')),
  outputs: () => styled('screens/outputs').then(() => import('./screens/outputs.js')),
  board: () => styled('screens/board').then(() => import('./screens/board.js')),
};
/** What somebody at work waits for. Sentences of the laptop come up there only when they are told, and wait for their words themselves. */
const SAYS_LITTLE = new Set(['fixtures', 'fixture', 'scanned', 'board', 'join']);
/** The code of a label stands in the path. It goes into the hash, which outlasts joining. */
const label = /^\/f\/([^/]+)\/?$/i.exec(location.pathname)?.[1];
if (label) history.replaceState(null, '', `/#scanned/${label}`);

/** A tablet or a laptop: there is room for the whole rig. */
const wide = matchMedia('(min-width: 56.25rem) and (min-height: 34rem)');
const SHELF = /** @type {const} */ (['fixtures', 'check', 'focus', 'looks', 'rig']);
const BOARD_SHELF = /** @type {const} */ (['board', ...SHELF]);

let ending = new AbortController();
let hasScrolled = false;
main.addEventListener('scroll', () => (hasScrolled = true), { passive: true });

/** @param {string} part of an address, typed by anybody */
function plain(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

async function draw() {
  const [name = '', ...args] = location.hash.slice(1).split('/').map(plain);
  const wanted = wantedFor(name, args);
  ending.abort();
  const now = (ending = new AbortController());
  const coming = Promise.all([SCREENS[wanted]?.(), nameProfiles(), SAYS_LITTLE.has(wanted) || fetchLaptopWords()]);
  const [screen] = await coming.catch(() => [null]); // not fetched yet, and no link
  if (now.signal.aborted) return;
  if (!screen) return say(words.link.notFetched);
  hush();
  main.replaceChildren();
  main.dataset.screen = wanted;
  if (hasScrolled) main.scrollTop = 0; // to set it, or to ask for it, lays the page out
  hasScrolled = false;
  drawShelf(wanted);
  screen.show({ main, shelf, args, signal: now.signal });
  // So that a reader aloud starts here, and a one-button remote is not taken by a button that went away. Once it is
  // drawn: to be given the focus a node is laid out, and its screen is not whole yet.
  requestAnimationFrame(() => now.signal.aborted || document.activeElement !== document.body || main.focus({ preventScroll: true }));
}

/** @param {string} name @param {string[]} args as the hash has them @returns {string} a screen that fits where somebody is, and on what */
function wantedFor(name, args) {
  if (rig.link.value === 'join' || !prefs.isIn) return 'join';
  if (name === 'board' && !wide.matches) return args.length ? 'fixture' : 'fixtures';
  if (name in SCREENS && name !== 'join') return name;
  return wide.matches ? 'board' : 'fixtures';
}

/** @param {string} current */
function drawShelf(current) {
  shelf.hidden = current === 'join';
  const names = (wide.matches ? BOARD_SHELF : SHELF).filter((name) => name !== 'focus' || rig.you.value.role !== 'house');
  const at = names.find((name) => name === current);
  const links = names.map((name) => h('a', { href: `#${name}`, 'aria-current': name === at ? 'page' : !at && name === 'rig' ? 'true' : null }, words.shelf[name])); // what has no place here is reached from the rig
  shelf.replaceChildren(...links, shadeButton());
}

function shadeButton() {
  let timer = 0;
  let long = false;
  const button = h('button', { type: 'button', 'aria-label': words.shelf.shadeLong }, words.shelf.shade);
  button.addEventListener('pointerdown', () => {
    long = false;
    timer = window.setTimeout(() => {
      long = true;
      setShade('night');
    }, 600);
  });
  for (const name of ['pointerup', 'pointercancel', 'pointerleave']) button.addEventListener(name, () => clearTimeout(timer));
  button.addEventListener('contextmenu', (event) => event.preventDefault());
  button.addEventListener('click', () => long || setShade(shadeNow() === 'dark' ? 'day' : 'dark'));
  return button;
}

const linkLine = h('span', { className: 'link' });
const stateLine = h('span', { className: 'state' });
const youLine = h('span', { className: 'you' });
status.append(linkLine, stateLine, youLine);

shelf.setAttribute('aria-label', words.shelf.label);
document.documentElement.style.setProperty('--was', JSON.stringify(`${words.link.was} `)); // said before what may not be so any more

function drawStatus() {
  const link = rig.link.value;
  document.documentElement.dataset.link = link;
  const { name: byName } = rig.laptop.value;
  const other = byName && new URL(byName).host !== location.host ? byName : ''; // this page's own address is tried all the time
  write(linkLine, link === 'none' && rig.far.value ? words.link.far(other) : words.link[link]);
  const held = mine().length;
  const master = rig.master.value;
  const kept = rig.kept.value;
  const states = [kept && link !== 'live' && words.link.kept(kept), rig.blackout.value && words.app.blackout, master < 1 && words.app.master(number(Math.round(master * 100))), ...alertsHere().slice(0, 1).map(said)];
  write(stateLine, states.filter(Boolean).join(' · '));
  mark(stateLine, 'hidden', states.some(Boolean) ? null : '');
  const name = rig.you.value.name;
  write(youLine, link === 'live' ? words.app.holds(name, held) : '');
}

const forEver = new AbortController().signal;
for (const cell of [rig.link, rig.holds, rig.blackout, rig.master, rig.alerts, rig.you, rig.far, rig.laptop, rig.kept]) cell.read(drawStatus, forEver);

let last = rig.link.value;
rig.link.read((link) => {
  if ((link === 'join') !== (last === 'join') || (link === 'live' && last === 'opening')) void draw();
  last = link;
}, forEver);

answers.addEventListener('refused', (event) => {
  const refused = /** @type {CustomEvent<import('./state/asked.js').Told>} */ (event).detail;
  const id = refused.fixture;
  if (refused.command?.do === 'set_many' && main.dataset.screen === 'several') return; // it knows who else was asked
  if (refused.ask === 'take' && id && rig.fixtures.has(id)) askToTake(id, refused.why);
  else if (refused.ask === 'held' && /^set/.test(refused.command?.do ?? '')) askToHold(refused);
  else if (refused.ask === 'dark') say(refused.why, [{ label: words.app.callDark, hold: words.app.callDarkWords, press: () => void command({ do: 'going_dark' }) }]);
  else say(refused.why);
});

/** @param {import('./state/asked.js').Told} refused */
function askToHold({ why, command: asked, fixture: id }) {
  if (!asked) return;
  const again = () => void command({ ...asked, held: true });
  const many = /** @type {import('./state/asked.js').Many} */ (asked.do === 'set_many' ? asked.values : { [id ?? '']: asked.values });
  const moving = Object.keys(many).filter((one) => waits(one, Object.keys(many[one] ?? {})));
  if (moving.length) fixtureScreen.askToMove(moving, again, why);
  else say(why, [{ label: words.app.strobe, hold: words.app.strobeWords, press: again }]);
}

document.addEventListener('fc-ask-take', (event) => {
  const { id, then } = /** @type {CustomEvent<{id: string, then?: () => void}>} */ (event).detail;
  const it = fixture(id);
  askToTake(id, words.app.askToTake(nameOf(it.holder), it.channel), then);
});

/** @param {string} id @param {string} sentence @param {() => void} [then] */
function askToTake(id, sentence, then) {
  const press = async () => {
    const answer = await command({ do: 'take', fixture: id, over: true });
    if (answer.is === 'ok') then?.();
  };
  say(sentence, [{ label: words.app.takeIt, main: true, press: () => void press() }]);
}

answers.addEventListener('missed', (event) => {
  const missed = /** @type {CustomEvent<import('./state/asked.js').Missed[]>} */ (event).detail;
  const names = missed.slice(0, 4).map(({ fixture: id, key }) => `${fixture(id).channel} ${wordsOf(key.split('/')[0] ?? key).toLowerCase()}`);
  const again = () => {
    for (const { fixture: id, key, value } of missed) set(id, { [key]: value }, { now: true });
  };
  say(words.app.missed(missed.length, names), [{ label: words.app.again, press: again }]);
});

/** The rest of the page, fetched while there is a link and nothing to do: later there may be neither. */
function fetchTheRest() {
  const rest = [() => import('./state/later.js'), () => styled('screens/care').then(() => import('./screens/care.js')), () => styled('screens/shout').then(() => import('./screens/shout.js')), nameProfiles, fetchLaptopWords, SCREENS.several, () => import('./screens/pick.js'), SCREENS.check, SCREENS.focus, SCREENS.looks, SCREENS.slots, SCREENS.rig, () => import('./elements/keypad.js'), () => import('./screens/pane-aim.js'),
    () => import('./screens/pane-disc.js'), () => import('./screens/pane-steps.js'), () => import('./screens/pane-white.js'), () => import('./screens/pane-acts.js'),
    () => import('./screens/pane-unit.js'), () => styled('screens/pane-guard').then(() => import('./screens/pane-guard.js')), () => import('./state/signal.js')];
  // What does not come, as when the link went away again, is tried when it is wanted.
  void Promise.allSettled(rest.map(async (load) => load?.())).then((all) => mark(document.documentElement, 'data-whole', all.every(({ status }) => status === 'fulfilled')));
}
rig.link.read((link) => link === 'live' && setTimeout(fetchTheRest, 300), forEver);

addEventListener('hashchange', () => void draw());
wide.addEventListener('change', () => void draw());
if (prefs.isIn) open();
else rig.link.value = 'join';
last = rig.link.value; // what early.js has heard is drawn now, and not once more at the next frame
void draw();
