// @ts-check
/** What a hand does with several fixtures: asks for them, moves them, and leaves out who says no. */
import { h, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { answers, command, isAsked, setMany, shown } from '../state/asked.js';
import { fixture, modeOf, nameOf, rig, waits } from '../state/rig.js';
import { sheetOf } from '../state/sheet.js';
import { inCommon, membersOf, movedBy, placeAt, placeOf, reach as reachable, spans, valuesAt } from '../state/together.js';
import { fractionOf } from '../state/values.js';
import { late } from '../words/late.js';
import { askToMove, makeUndo, sayHome } from './fixture.js';

const WORDS = late.handful;

const CHUNK = 128; // fixtures a message: with five controls each about 25 kB, where the laptop reads up to 64
const UNANSWERED = 3; // as for drags

/** @typedef {import('../state/together.js').Member} Member */
/** @typedef {import('../state/words.js').Group} Group */
/** @typedef {import('../state/asked.js').Many} Many */
/** @typedef {import('../state/sheet.js').Grip} Grip */
/** @typedef {ReturnType<typeof makeHand>} Hand */

/**
 * @param {string[]} ids
 * @param {Map<string, string>} leftOut why one of them takes no part, "" where somebody chose so
 * @param {() => void} drawLeft
 * @param {() => boolean} isRelative all by the same amount, not to the same value
 * @param {AbortSignal} signal
 */
export function makeHand(ids, leftOut, drawLeft, isRelative, signal) {
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

  /** Asked beside somebody aloft: sent when it was held. @type {Many} */
  let wanted = {};
  /** @param {Many} values @param {{held?: boolean, now?: boolean}} [how] */
  const send = (values, how = {}) => {
    const waiting = how.held ? [] : Object.keys(values).filter((id) => waits(id, Object.keys(values[id] ?? {})));
    if (waiting.length && !how.now) return void Object.assign(wanted, values);
    if (waiting.length) {
      const going = Object.keys(wanted).length ? wanted : values;
      wanted = {};
      return askToMove(waiting, () => send(going, { held: true, now: true }));
    }
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
    const frozen = members().filter(({ id }) => fixture(id).hands_on.length > 0 && !reachable(members(), name).some(([one]) => one === id)).map(({ id }) => id);
    write(ends, [stopped ? WORDS.stopped(stopped, members().length) : '', frozen.length ? WORDS.hands(spans(frozen)) : ''].filter(Boolean).join(' '));
  };
  /** Whose values a pane for one fixture shows: the first that takes part, in fractions of the first of all. */
  const shownFor = (/** @type {string} */ name) => reachable(members(), name)[0] ?? /** @type {[string, Grip]} */ ([lead.id, lead.grips.get(name)]);
  const valueOf = (/** @type {string} */ key) => {
    const name = nameOfKey(key);
    const [id, grip] = shownFor(name);
    const own = lead.grips.get(name);
    return id === lead.id || !own ? shown(lead.id, key) : own.low + placeOf(grip, id) * (own.high - own.low);
  };
  const placeFor = (/** @type {string} */ name, /** @type {number} */ fraction) => placeAt(/** @type {Grip} */ (lead.grips.get(name)), fraction);
  const grab = (/** @type {string[]} */ keys, /** @type {string} */ label) => {
    if (!free()) return false;
    starts.clear();
    wanted = {};
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
    if (!isRelative()) return putAlike(values, how);
    const goals = new Map();
    let stopped = 0;
    for (const [key, value] of Object.entries(values)) {
      const name = nameOfKey(key);
      const from = starts.get(name);
      if (!from || goals.has(name)) continue;
      const moved = movedBy(from, placeFor(name, value) - (from.get(shownFor(name)[0]) ?? placeFor(name, value)));
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
    const waiting = Object.keys(values).filter((one) => waits(one, Object.keys(values[one] ?? {})));
    if (ask === 'held' && waiting.length) return askToMove(waiting, () => send(values, { held: true, now: true }), why);
    if (ask === 'held') return say(why, [{ label: WORDS.strobe, hold: WORDS.strobeWords, press: () => send(values, { held: true, now: true }) }]);
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
      value: valueOf,
      isAsked: (keys) => namesOf(keys).some((name) => shownFor(name)[1]?.keys.some((key) => isAsked(shownFor(name)[0], key))),
      drive, grab, put,
      locked: null,
      single: false,
      change(keys, label, values, held = false) {
        if (grab(keys, label)) putAlike(values, { held, now: true });
      },
      home(keys, label) {
        if (!grab(keys, label)) return;
        const asks = members().some(({ id }) => waits(id, keys));
        go(new Map(namesOf(keys).map((name) => [name, homes(name)])), { now: true });
        if (!asks) sayHome(label, undo.button);
      },
      undo: undo.add,
    },
  };
}
