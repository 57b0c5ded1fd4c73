// @ts-check
/** Several fixtures in one hand: what they have in common, by the same amount or to the same value. */
import { h, mark, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { answers, command, isAsked, setMany, shown } from '../state/asked.js';
import { prefs } from '../state/prefs.js';
import { fixture, modeOf, nameOf, rig } from '../state/rig.js';
import { sheetOf } from '../state/sheet.js';
import { inCommon, membersOf, movedBy, placeAt, placeOf, reach as reachable, spans, valuesAt } from '../state/together.js';
import { fractionOf, percent } from '../state/values.js';
import { counted } from '../state/words.js';
import { drawAgain, makeUndo, sayHome } from './fixture.js';
import { faderPane, same } from './pane-span.js';

export const WORDS = {
  looking: 'Looking for the laptop.',
  gone: 'None of these hang in the rig any more.',
  nothingLeft: 'None of these can be driven from here.',
  list: 'List',
  all: 'All fixtures',
  these: 'These fixtures',
  sent: 'sent now',
  zero: 'level 0, not isolated',
  nobody: 'Nobody has any',
  mine: (/** @type {number} */ count, /** @type {number} */ of) => (count === of ? 'In your hand' : `You have ${count} of ${of}`),
  has: (/** @type {string} */ name, /** @type {number} */ count) => `${name} has ${count}`,
  hasOf: (/** @type {string} */ name, /** @type {number} */ count) => `${name} has ${count} of them`,
  takeThem: (/** @type {number} */ count) => (count === 1 ? 'Take it?' : 'Take them?'),
  take: (/** @type {number} */ count) => (count === 1 ? 'Take it' : 'Take them'),
  without: (/** @type {number} */ count) => (count === 1 ? 'Go on without it' : 'Go on without them'),
  takeAll: 'Take',
  letGo: 'Let go',
  light: 'Light up',
  hangs: 'as they hang',
  holdLight: (/** @type {number} */ count) => `Hold: ${count} lights come up at once.`,
  relative: 'Same amount',
  absolute: 'Same value',
  how: 'How they move',
  shows: (/** @type {string} */ first) => `Shown: ${first}. The others go along.`,
  stopped: (/** @type {number} */ count, /** @type {number} */ of) => `${count} of ${of} ${count === 1 ? 'is' : 'are'} at an end and ${count === 1 ? 'stays' : 'stay'} there.`,
  guarded: (/** @type {string} */ which) => `Left out, guarded: ${which}.`,
  house: (/** @type {string} */ which) => `Left out, no house fixture: ${which}.`,
  left: (/** @type {string} */ which) => `Left out: ${which}.`,
  refused: (/** @type {string} */ which, /** @type {string} */ why) => `Left out: ${which}. ${why}`,
  hands: (/** @type {string} */ which) => `Hands on: ${which} does not move.`,
  unlike: (/** @type {string} */ which) => `Works differently among them, so one by one: ${which}.`,
  nothingCommon: 'They have nothing in common that can be driven.',
  noLight: (/** @type {string} */ which, /** @type {string} */ why) => `Not all came up: ${which}. ${why}`,
  notTaken: (/** @type {string} */ which, /** @type {string} */ why) => `Not taken: ${which}. ${why}`,
};

const MANY = 12; // lights coming up at once are worth a thought about the supply (common practice, no source)
const CHUNK = 128; // fixtures a message: with five controls each about 25 kB, where the laptop reads up to 64
const UNANSWERED = 3; // as for drags

/** @typedef {import('../state/together.js').Member} Member */
/** @typedef {import('../state/words.js').Group} Group */
/** @typedef {import('../state/asked.js').Many} Many */
/** @typedef {import('../state/sheet.js').Grip} Grip */

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
  const hand = makeHand(active, leftOut, drawLeft, signal);
  const picker = h('div', { className: 'choice picker', role: 'group', 'aria-label': 'Controls' });
  const place = h('div', { className: 'pane' });
  const unlike = h('p', { className: 'hint' }, hand.unlike.length ? WORDS.unlike(hand.unlike.join(', ')) : '');
  unlike.hidden = !hand.unlike.length;
  const caution = h('p', { className: 'caution' }, 'They move: call out, and keep clear.');
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
    const pages = [...hand.sheet.keys()].map((name) => h('button', { type: 'button', 'aria-current': name === now ? 'page' : null, onclick: () => ((group = name), (paneAt = 0), void draw()) }, name));
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
    write(first, WORDS.shows(spans([hand.members[0]?.id ?? ''])));
    place.replaceChildren(made.node);
    place.dataset.kind = pane.kind;
    hand.read(made.update, end.signal);
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

/** @typedef {ReturnType<typeof makeHand>} Hand */

/**
 * @param {string[]} ids
 * @param {Map<string, string>} leftOut
 * @param {() => void} drawLeft
 * @param {AbortSignal} signal
 */
function makeHand(ids, leftOut, drawLeft, signal) {
  const everyone = membersOf(ids);
  const lead = /** @type {Member} */ (everyone[0]);
  const leadMode = modeOf(fixture(lead.id)) ?? { name: '', controls: [] };
  const { names, unlike } = inCommon(everyone);
  const named = new Map([...lead.grips].flatMap(([name, grip]) => grip.keys.map((key) => /** @type {[string, string]} */ ([key, name]))));
  const common = { ...leadMode, controls: leadMode.controls.filter(({ key }) => names.includes(named.get(key) ?? '')) };
  /** @type {Map<Group, import('../state/sheet.js').Pane[]>} */
  const sheet = new Map();
  for (const [name, panes] of sheetOf(common, null, null)) {
    const some = panes.filter(({ kind }) => kind !== 'unit' && kind !== 'acts');
    if (some.length) sheet.set(name, some);
  }
  const undo = makeUndo('');
  const ends = h('p', { className: 'ends-line', role: 'status' });
  const members = () => everyone.filter(({ id }) => !leftOut.has(id));
  /** Grip name to where each was when the thumb came. @type {Map<string, import('../state/together.js').Places>} */
  const starts = new Map();
  const nameOfKey = (/** @type {string} */ key) => named.get(key) ?? key;
  const namesOf = (/** @type {string[]} */ keys) => [...new Set(keys.map(nameOfKey))];

  const others = () => {
    /** @type {Map<string, string[]>} */
    const held = new Map();
    for (const { id } of members()) {
      const { holder } = fixture(id);
      if (!holder || holder === rig.you.value.id || !rig.people.value[holder]?.here) continue;
      held.set(holder, [...(held.get(holder) ?? []), id]);
    }
    return held;
  };
  /** Asks once, in words, when somebody else has some of them. @returns {boolean} nobody has: go on */
  const free = () => {
    const held = others();
    if (!held.size) return true;
    const who = [...held].map(([person, some]) => WORDS.hasOf(nameOf(person), some.length)).join(', ');
    const theirs = [...held.values()].flat();
    const out = () => {
      for (const id of theirs) leftOut.set(id, '');
      drawLeft();
      told();
    };
    const count = theirs.length;
    say(`${who}. ${WORDS.takeThem(count)}`, [{ label: WORDS.take(count), main: true, press: () => void takeAll() }, ...(count < members().length ? [{ label: WORDS.without(count), press: out }] : [])]);
    return false;
  };
  const each = async (/** @type {(id: string) => import('../state/asked.js').Command} */ make, /** @type {string[]} */ some) => {
    /** @type {{id: string, why: string}[]} */
    const no = [];
    const line = [...some];
    const worker = async () => {
      for (let id = line.shift(); id !== undefined; id = line.shift()) {
        const answer = await command(make(id), true);
        if (answer.is === 'refused') no.push({ id, why: answer.why });
      }
    };
    await Promise.all(Array.from({ length: UNANSWERED }, worker));
    return no;
  };
  const takeAll = async () => {
    const not = members().map(({ id }) => id).filter((id) => fixture(id).holder !== rig.you.value.id);
    const no = await each((id) => ({ do: 'take', fixture: id, over: true }), not);
    if (no[0]) say(WORDS.notTaken(spans(no.map(({ id }) => id)), no[0].why));
  };

  /** @param {Many} values @param {{held?: boolean, now?: boolean}} [how] */
  const send = (values, how = {}) => {
    const list = Object.keys(values);
    for (let at = 0; at < list.length; at += CHUNK) {
      const some = list.slice(at, at + CHUNK);
      setMany(`${at}`, Object.fromEntries(some.map((id) => [id, values[id] ?? {}])), how);
    }
  };
  /** @param {Map<string, import('../state/together.js').Places>} goals by grip name @param {{held?: boolean, now?: boolean}} [how] */
  const go = (goals, how) => {
    /** @type {Many} */
    const values = {};
    for (const [name, places] of goals)
      for (const [id, grip] of reachable(members(), name)) values[id] = { ...values[id], ...valuesAt(grip, places.get(id) ?? 0) };
    if (Object.keys(values).length) send(values, how);
  };
  const alike = (/** @type {string} */ name, /** @type {number} */ place) => new Map(reachable(members(), name).map(([id]) => [id, place]));
  const sayEnds = (/** @type {number} */ stopped, /** @type {string} */ name) => {
    const frozen = members().filter(({ id }) => fixture(id).hands_on && !reachable(members(), name).some(([one]) => one === id)).map(({ id }) => id);
    write(ends, [stopped ? WORDS.stopped(stopped, members().length) : '', frozen.length ? WORDS.hands(spans(frozen)) : ''].filter(Boolean).join(' '));
  };
  const placeFor = (/** @type {string} */ name, /** @type {number} */ fraction) => placeAt(/** @type {Grip} */ (lead.grips.get(name)), fraction);
  const grab = (/** @type {string[]} */ keys, /** @type {string} */ label) => {
    if (!free()) return false;
    starts.clear();
    /** @type {Many} */
    const before = {};
    for (const name of namesOf(keys)) {
      starts.set(name, new Map(reachable(members(), name).map(([id, grip]) => [id, placeOf(grip, id)])));
      for (const [id, grip] of reachable(members(), name)) before[id] = { ...before[id], ...Object.fromEntries(grip.keys.map((key) => [key, shown(id, key)])) };
    }
    undo.add(label, () => send(before, { now: true }));
    return true;
  };
  const putAlike = (/** @type {Record<string, number>} */ values, /** @type {{held?: boolean, now?: boolean}} */ how = {}) => {
    const goals = new Map(Object.entries(values).map(([key, value]) => [nameOfKey(key), alike(nameOfKey(key), placeFor(nameOfKey(key), value))]));
    go(goals, how);
  };
  /** A pane that knows only the first of them: the others go as far from where they were. */
  const put = (/** @type {Record<string, number>} */ values, /** @type {{held?: boolean, now?: boolean}} */ how = {}) => {
    if (!relative) return putAlike(values, how);
    const goals = new Map();
    let stopped = 0;
    for (const [key, value] of Object.entries(values)) {
      const name = nameOfKey(key);
      const from = starts.get(name);
      if (!from || goals.has(name)) continue;
      const moved = movedBy(from, placeFor(name, value) - (from.get(lead.id) ?? placeFor(name, value)));
      stopped = Math.max(stopped, moved.stopped);
      goals.set(name, moved.places);
      sayEnds(stopped, name);
    }
    go(goals, how);
  };
  const homes = (/** @type {string} */ name) => new Map(reachable(members(), name).map(([id, one]) => [id, placeAt(one, fractionOf(one.control, one.control.home))]));
  const drive = () => {
    const holders = members().map(({ id }) => fixture(id).holder);
    if (holders.some((holder) => holder && holder !== rig.you.value.id)) return /** @type {const} */ ('other');
    if (holders.every((holder) => holder)) return /** @type {const} */ ('hand');
    return members().some(({ id }) => fixture(id).level > 0) ? /** @type {const} */ ('look') : /** @type {const} */ ('home');
  };
  /** @type {Set<() => void>} */
  const readers = new Set();
  let due = false;
  const told = () => {
    if (due) return;
    due = true;
    queueMicrotask(() => {
      due = false;
      for (const reader of [...readers]) if (!signal.aborted) reader();
    });
  };
  for (const id of ids) rig.fixtures.get(id)?.read(told, signal);
  rig.people.read(told, signal);
  answers.addEventListener('refused', (event) => refused(/** @type {CustomEvent<import('../state/asked.js').Told>} */ (event).detail), { signal });
  /** One of them said no, so nothing happened at all: leave it out, say so, and ask the others again. @param {import('../state/asked.js').Told} no */
  const refused = ({ command: old, fixture: id, ask, why }) => {
    if (old?.do !== 'set_many') return;
    const values = { .../** @type {Many} */ (old.values) };
    if (ask === 'held') return say(why, [{ label: 'Use it all the same', hold: 'Hold: flashing light can set off seizures.', press: () => send(values, { held: true, now: true }) }]);
    if (ask === 'take' && !free()) return;
    if (!id || !(id in values)) return say(why);
    leftOut.set(id, why);
    drawLeft();
    delete values[id];
    if (Object.keys(values).length) send(values, { held: !!old.held, now: true });
  };

  return {
    ids, names, unlike, sheet, undo, ends, drive, free, each, takeAll, grab, putAlike, alike, go, starts, nameOfKey,
    get members() {
      return members();
    },
    places: (/** @type {string} */ name) => new Map(reachable(members(), name).map(([id, grip]) => [id, placeOf(grip, id)])),
    gripOf: (/** @type {string} */ name) => /** @type {Grip} */ (lead.grips.get(name)),
    /** Do all of them read alike, so that its unit may be shown? */
    isAlike: (/** @type {string} */ name) => everyone.every(({ grips }) => grips.get(name)?.fn?.physical?.join() === lead.grips.get(name)?.fn?.physical?.join()),
    isAsked: (/** @type {string} */ name) => members().some(({ id, grips }) => grips.get(name)?.keys.some((key) => isAsked(id, key))),
    sayEnds,
    forgetEnds: () => write(ends, ''),
    /** Every one to its own home. @param {string} name @param {string} label */
    home(name, label) {
      this.reach.home(lead.grips.get(name)?.keys ?? [], label);
    },
    /** @param {() => void} reader @param {AbortSignal} end */
    read(reader, end) {
      readers.add(reader);
      end.addEventListener('abort', () => readers.delete(reader), { once: true });
      reader();
    },
    /** What a pane made for one fixture needs. @type {import('./fixture.js').Reach} */
    reach: {
      id: lead.id, mode: common, profile: rig.profiles.get(fixture(lead.id).profile), signal,
      cell: /** @type {import('./fixture.js').FixtureCell} */ (rig.fixtures.get(lead.id)),
      value: (key) => shown(lead.id, key),
      isAsked: (keys) => keys.some((key) => isAsked(lead.id, key)),
      drive, grab, put,
      change(keys, label, values, held = false) {
        if (grab(keys, label)) putAlike(values, { held, now: true });
      },
      home(keys, label) {
        if (!grab(keys, label)) return;
        go(new Map(namesOf(keys).map((name) => [name, homes(name)])), { now: true });
        sayHome(label, undo.button);
      },
      undo: undo.add,
    },
  };
}

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
    write(place, kinds.size > 2 ? `${[...kinds].slice(0, 2).join('; ')}; ${counted(kinds.size - 2, 'more type')}` : [...kinds].join('; '));
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
