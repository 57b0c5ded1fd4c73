// @ts-check
/** The sheet of one fixture: its tag, what a hand does with it, and a pane for each of its controls. */
import { h, mark, styled, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { isAsked, set, shown } from '../state/asked.js';
import { prefs, star } from '../state/prefs.js';
import { aloftAt, fixture, handsOf, modeOf, moves as movesKey, nameOf, namesOf, rig, waits } from '../state/rig.js';
import { cellsOf, runsOf, sheetOf } from '../state/sheet.js';
import { clock, fractionOf, percent, secondsTo } from '../state/values.js';
import { guardWords, marksOf } from '../state/words.js';
import { words } from '../words/words.js';
import { makeHandRow, withLightSwitch } from './hand-row.js';
import { remember } from './list.js';
import { fadersPane } from './pane-faders.js';

/** @typedef {import('../app.js').Stage} Stage */
/** @typedef {import('../state/words.js').Group} Group */
/** @typedef {import('../state/cell.js').Cell<import('../net/contract.js').Fixture>} FixtureCell */
/** @typedef {import('../elements/fc-fader.js').Drive} Drive */

/**
 * How a pane reaches its fixture.
 * @typedef {object} Reach
 * @property {string} id
 * @property {FixtureCell} cell
 * @property {import('../net/contract.js').Mode} mode
 * @property {import('../net/contract.js').Profile | undefined} profile
 * @property {AbortSignal} signal
 * @property {(key: string) => number} value
 * @property {(keys: string[]) => boolean} isAsked
 * @property {(grip: import('../state/sheet.js').Grip) => Drive} drive
 * @property {(keys: string[], label: string) => boolean} grab before a change; false: not yours to change
 * @property {(values: Record<string, number>, how?: {held?: boolean, now?: boolean}) => void} put
 * @property {(keys: string[], label: string, values: Record<string, number>, held?: boolean) => void} change grab and put in one
 * @property {(keys: string[], label: string) => void} home where they rest, with an undo where the thumb is
 * @property {(label: string, back: () => void) => void} undo what the Undo button does next
 * @property {boolean} single one fixture, not several
 * @property {string | null} locked why nothing of it may be driven from here
 */

const WORDS = words.fixture;

/** Kept from fixture to fixture, so that "next" stays on the same page of the sheet. @type {Group} */
let group = 'Level';
let paneAt = 0;

/** @param {Stage} stage */
export function show({ main, shelf, args, signal, turn }) {
  const id = args[0] ?? '';
  const again = () => (turn ? turn(id) : drawAgain());
  const turnTo = turn ?? ((/** @type {string} */ to) => location.replace(`#fixture/${to}`));
  const cell = rig.fixtures.get(id);
  if (!cell) {
    const why = rig.link.value === 'live' ? WORDS.gone : WORDS.looking;
    main.append(h('h1', null, why), h('a', { className: 'button', href: '#fixtures' }, WORDS.all));
    rig.list.read(() => rig.fixtures.has(id) && again(), signal);
    return;
  }
  remember(id);
  follow(id, turnTo, signal);
  const it = cell.value;
  // Taken out of the rig, or given another mode, while somebody looks at it.
  const { profile: oldProfile, mode: oldMode } = it;
  rig.list.read(() => rig.fixtures.has(id) || again(), signal);
  cell.read((now) => (now.profile === oldProfile && now.mode === oldMode) || again(), signal);
  const mode = modeOf(it) ?? { name: it.mode, controls: [] };
  const profile = rig.profiles.get(it.profile);
  const guard = profile?.guarded?.reason ?? (it.guarded ? 'other' : null);
  const notMine = it.work_light && rig.you.value.role !== 'lead';
  const locked = guard ?? (notMine ? 'work' : null);
  const moves = mode.controls.some(({ key }) => movesKey(key));
  const undo = makeUndo(id);
  const reach = makeReach(id, cell, mode, undo, signal);

  const unpatched = it.address ? null : h('p', { className: 'caution' }, WORDS.unpatched);
  let scope = /** @type {string | null} */ (null);
  // What runs only while it is armed has a page of its own; for a unit that is guarded altogether it comes first.
  const runs = runsOf(mode, guard !== null);
  let armed = guard !== null && runs.length > 0;
  const tag = makeTag(id, cell, moves, signal);
  const cells = h('div', { className: 'choice cells', role: 'group', 'aria-label': WORDS.cells });
  const picker = h('div', { className: 'choice picker', role: 'group', 'aria-label': WORDS.controls });
  const place = h('div', { className: 'pane' });
  const caution = h('p', { className: 'caution' }, WORDS.moves);
  const guarded = locked && h('p', { className: 'caution' }, guard ? guardWords(guard) : WORDS.leadOnly);
  let paneEnd = new AbortController();
  signal.addEventListener('abort', () => paneEnd.abort());

  const draw = async () => {
    const sheet = sheetOf(mode, scope, locked);
    const now = sheet.has(group) ? group : ([...sheet.keys()][0] ?? 'Level');
    const panes = armed ? [] : (sheet.get(now) ?? []);
    const pane = panes[Math.min(paneAt, panes.length - 1)];
    drawShelf([...sheet.keys()], armed ? null : now);
    picker.replaceChildren(...panes.map((one, at) => h('button', { type: 'button', 'aria-pressed': String(one === pane), onclick: () => ((paneAt = at), void draw()) }, one.title)));
    picker.hidden = panes.length < 2;
    caution.hidden = armed || now !== 'Aim' || !moves;
    paneEnd.abort();
    const end = (paneEnd = new AbortController());
    if (!pane && !armed) return place.replaceChildren(h('p', { className: 'empty' }, WORDS.nothing));
    const made = await makePane(pane ?? { kind: 'guard', runs, guard }, { ...reach, locked, signal: end.signal });
    if (end.signal.aborted) return;
    place.replaceChildren(made.node);
    place.dataset.kind = pane?.kind ?? 'guard';
    cell.read(made.update, end.signal);
    rig.you.read(made.update, end.signal);
    prefs.numbers.read(made.update, end.signal);
  };
  const drawShelf = (/** @type {Group[]} */ names, /** @type {Group | null} */ now) => {
    const turn = (/** @type {Group | null} */ name) => {
      armed = !name;
      if (name) group = name;
      paneAt = 0;
      void draw();
    };
    const page = (/** @type {Group | null} */ name) => h('button', { type: 'button', 'aria-current': name === now ? 'page' : null, onclick: () => turn(name) }, name ? words.groups[name] : WORDS.guard);
    shelf.replaceChildren(h('a', { href: '#fixtures', className: 'back' }, WORDS.list), ...(runs.length ? [page(null)] : []), ...names.map(page));
  };
  const names = cellsOf(mode);
  const drawCells = () => {
    const one = (/** @type {string | null} */ name, /** @type {string} */ shown) =>
      h('button', { type: 'button', 'aria-pressed': String(scope === name), onclick: () => ((scope = name), drawCells(), void draw()) }, shown);
    cells.replaceChildren(one(null, WORDS.allCells), ...names.map((name) => one(name, mode.cellNames?.[name] ?? name.replace(/^Cell /i, ''))));
  };
  drawCells();
  cells.hidden = names.length < 2;
  mark(cells, 'data-many', names.length > 13);
  const sheet = h('div', { className: 'sheet' }, caution, cells, picker, place, withLightSwitch(signal));
  main.append(tag, ...(guarded ? [guarded] : []), ...(unpatched ? [unpatched] : []), sheet, makeHandRow(id, moves, locked !== null, undo, cell, turnTo, args[1] === 'scanned', signal));
  void draw();
  // What its beam is to do, where somebody has written that: large, above everything that does it.
  const end = new AbortController();
  const note = async () => {
    if (end.signal.aborted || !Object.keys(cell.value.focus?.note ?? {}).length) return;
    end.abort();
    await styled('screens/focus');
    const { noteLines } = await import('./focus-note.js');
    if (!signal.aborted) sheet.prepend(noteLines(() => id, signal).node);
  };
  signal.addEventListener('abort', () => end.abort());
  cell.read(() => void note().catch(() => null), end.signal);
}

/** In a focus call this sheet goes with the light, whoever presses. @param {string} id @param {(id: string) => void} turnTo @param {AbortSignal} signal */
function follow(id, turnTo, signal) {
  const nowAt = () => rig.now.value[rig.you.value.id];
  let was = nowAt();
  rig.now.read(() => {
    const at = nowAt();
    if (was === id && at && at !== id) turnTo(at);
    was = at;
  }, signal);
}

/** Draws the screen anew, as when the rig has changed under it. */
export const drawAgain = () => void dispatchEvent(new HashChangeEvent('hashchange'));

/** @typedef {{kind: 'guard', runs: import('../net/contract.js').Control[], guard: string | null}} Guard  what runs only while armed */

/**
 * Columns are here from the start; the rest comes when it is first wanted, or when the phone has nothing to do.
 * @param {import('../state/sheet.js').Pane | Guard} pane
 * @param {Reach} reach
 */
async function makePane(pane, reach) {
  if (pane.kind === 'guard') return styled('screens/pane-guard').then(() => import('./pane-guard.js')).then(({ guardPane }) => guardPane(pane, reach));
  if (pane.kind === 'aim') return (await import('./pane-aim.js')).aimPane(pane, reach);
  if (pane.kind === 'disc') return (await import('./pane-disc.js')).discPane(pane, reach);
  if (pane.kind === 'white') return (await import('./pane-white.js')).whitePane(pane, reach);
  if (pane.kind === 'steps') return (await import('./pane-steps.js')).stepsPane(pane, reach);
  if (pane.kind === 'unit') return (await import('./pane-unit.js')).unitPane(reach);
  if (pane.kind === 'acts') return (await import('./pane-acts.js')).actsPane(pane, reach);
  return fadersPane(pane, reach);
}

/** @param {string} id @param {FixtureCell} cell @param {boolean} moves @param {AbortSignal} signal */
function makeTag(id, cell, moves, signal) {
  const channel = h('b', { className: 'channel' });
  const purpose = h('span', { className: 'purpose' });
  const place = h('span', { className: 'place' });
  const who = h('span', { className: 'who' });
  const level = h('b', { className: 'leaving' });
  const zero = h('span', null, h('span', { className: 'long' }, WORDS.zero), WORDS.notIsolated);
  const some = h('span', null, WORDS.sent);
  const leaving = h('span', { className: 'leaving-words' }, zero, some);
  const fault = h('b', { className: 'fault-mark' });
  const hands = h('b', { className: 'hands-mark' });
  const aloft = h('b', { className: 'aloft-mark' });
  const armed = h('b', { className: 'armed-mark' });
  const out = h('b', { className: 'out-mark' });
  const marks = h('p', { className: 'marks' }, fault, out, hands, armed, aloft);
  // The hole of the tag, where it hangs: a star is punched into it.
  const punch = h('button', { type: 'button', className: 'punch', onclick: () => star([id], !prefs.stars.value.includes(id)) }, h('i', { className: 'eyelet' }));
  prefs.stars.read((stars) => mark(punch, 'aria-pressed', String(stars.includes(id))), signal);
  const title = h('h1', null, channel, h('span', { className: 'about' }, purpose, place));
  const tag = h('section', { className: 'tag', 'aria-label': WORDS.label }, punch, title, h('span', { className: 'now' }, level, leaving), who, marks);
  let timer = 0;
  const draw = () => {
    const it = cell.value;
    const mine = it.holder === rig.you.value.id;
    write(channel, String(it.channel));
    punch.setAttribute('aria-label', WORDS.star(it.channel));
    write(purpose, it.purpose || WORDS.noPurpose);
    const away = !!it.holder && !rig.people.value[it.holder]?.here;
    write(who, mine ? WORDS.inHand : it.holder ? WORDS.has(nameOf(it.holder), away) : WORDS.nobody);
    write(level, `${percent(it.level)}\u202f%`);
    zero.hidden = it.level > 0;
    some.hidden = it.level <= 0;
    write(place, WORDS.place(it.position, it.unit) + (it.work_light ? ` · ${WORDS.workLight}` : ''));
    const { fault: wrong, hands: on } = marksOf(it, handsOf(it));
    const up = aloftAt(it.position);
    const here = up.length ? WORDS.here(words.marks.aloft(namesOf(up), up.length), moves, it.still) : '';
    const gone = it.out_of_use ? `${words.marks.out}: ${it.out_of_use.reason}` : '';
    const runs = it.armed ? WORDS.armed(namesOf([it.armed.by]), clock(secondsTo(it.armed.ends))) : '';
    for (const [node, sentence] of /** @type {const} */ ([[fault, wrong], [out, gone], [hands, on], [aloft, here], [armed, runs]])) {
      write(node, sentence);
      node.hidden = !sentence;
    }
    marks.hidden = !(wrong || gone || on || here || runs);
    clearTimeout(timer);
    if (it.armed && !signal.aborted) timer = window.setTimeout(draw, 250);
    mark(tag, 'data-drive', mine ? 'hand' : it.holder ? 'other' : it.level > 0 ? 'look' : 'home');
  };
  cell.read(draw, signal);
  rig.people.read(draw, signal);
  return tag;
}

/**
 * Motion beside somebody aloft: in words, and only by a held button.
 * @param {string[]} ids what moves @param {() => void} go @param {string} [why] the sentence, where the server has said one
 */
export function askToMove(ids, go, why) {
  const who = namesOf([...new Set(ids.flatMap((id) => aloftAt(fixture(id).position)))]);
  const which = ids.slice(0, MOST_NAMED).map((id) => fixture(id).channel).join(', ') + (ids.length > MOST_NAMED ? ' \u2026' : '');
  say(why ?? words.app.willMove(which, who), [{ label: words.app.letMove, hold: words.app.letMoveWords(which), press: go }]);
}
const MOST_NAMED = 8;

const UNDO_MS = 5000;

/** @param {string} label @param {HTMLButtonElement} undo */
export function sayHome(label, undo) {
  say(WORDS.home(label), [{ label: WORDS.undo, main: true, press: () => undo.click() }], UNDO_MS);
}

/** @param {string} id */
export function makeUndo(id) {
  /** @type {{label: string, back: () => void}[]} */
  const past = [];
  const button = h('button', { type: 'button', disabled: true, onclick: () => back() }, WORDS.undo);
  const back = () => {
    past.pop()?.back();
    draw();
  };
  const draw = () => {
    button.disabled = !past.length;
    button.setAttribute('aria-label', past.length ? WORDS.undoWhat(past.at(-1)?.label ?? '') : WORDS.undo);
  };
  const add = (/** @type {string} */ label, /** @type {() => void} */ undo) => {
    past.push({ label, back: undo });
    if (past.length > 20) past.shift();
    draw();
  };
  return {
    button,
    add,
    /** @param {string[]} keys @param {string} label */
    remember(keys, label) {
      const values = Object.fromEntries(keys.map((key) => [key, shown(id, key)]));
      add(label, () => set(id, values, { now: true }));
    },
    forget() {
      past.length = 0;
      draw();
    },
  };
}

/**
 * @param {string} id
 * @param {FixtureCell} cell
 * @param {import('../net/contract.js').Mode} mode
 * @param {ReturnType<typeof makeUndo>} undo
 * @param {AbortSignal} signal
 * @returns {Reach}
 */
function makeReach(id, cell, mode, undo, signal) {
  /** Asked beside somebody aloft: sent when it was held. @type {Record<string, number>} */
  let wanted = {};
  const reach = {
    id, cell, mode, signal,
    undo: undo.add,
    locked: null,
    single: true,
    profile: rig.profiles.get(cell.value.profile),
    value: (/** @type {string} */ key) => shown(id, key),
    isAsked: (/** @type {string[]} */ keys) => keys.some((key) => isAsked(id, key)),
    drive(/** @type {import('../state/sheet.js').Grip} */ grip) {
      const { holder } = cell.value;
      if (grip.locked) return /** @type {const} */ ('guard');
      if (holder) return holder === rig.you.value.id ? /** @type {const} */ ('hand') : /** @type {const} */ ('other');
      return Math.abs(shown(id, grip.keys[0] ?? '') - fractionOf(grip.control, grip.control.home)) > 0.004 ? /** @type {const} */ ('look') : /** @type {const} */ ('home');
    },
    grab(/** @type {string[]} */ keys, /** @type {string} */ label) {
      const { holder } = cell.value;
      // Somebody else who is here: ask before anything is sent. Somebody who went away: the server decides.
      if (holder && holder !== rig.you.value.id && rig.people.value[holder]?.here) {
        document.dispatchEvent(new CustomEvent('fc-ask-take', { detail: { id } }));
        return false;
      }
      undo.remember(keys, label);
      wanted = {};
      return true;
    },
    put(/** @type {Record<string, number>} */ values, /** @type {{held?: boolean, now?: boolean}} */ how = {}) {
      if (how.held || !waits(id, Object.keys(values))) return set(id, values, how);
      if (!how.now) return void Object.assign(wanted, values);
      const going = Object.keys(wanted).length ? wanted : values;
      wanted = {};
      askToMove([id], () => set(id, going, { held: true, now: true }));
    },
    change(/** @type {string[]} */ keys, /** @type {string} */ label, /** @type {Record<string, number>} */ values, held = false) {
      if (reach.grab(keys, label)) reach.put(values, { held, now: true });
    },
    home(/** @type {string[]} */ keys, /** @type {string} */ label) {
      if (!reach.grab(keys, label)) return;
      const homes = mode.controls.filter(({ key }) => keys.includes(key)).map((one) => [one.key, fractionOf(one, one.home)]);
      const asks = waits(id, keys);
      reach.put(Object.fromEntries(homes), { now: true });
      if (!asks) sayHome(label, undo.button);
    },
  };
  return reach;
}
