// @ts-check
/** What the server last said, with its rev: the only copy on this phone. */
import { fetchProfileWords, language, named, onceSaid, words } from '../words/words.js';
import { Cell } from './cell.js';

/** @typedef {import('../net/contract.js').Fixture} Fixture */
/** @typedef {import('../net/contract.js').News} News */
/** @typedef {import('../net/contract.js').Mode} Mode */
/** @typedef {import('../net/contract.js').Profile} Profile */

/** Words of the link, as shown: opening, live, waiting (1.5 s of silence), none, join (not let in). */
/** @typedef {'opening' | 'live' | 'waiting' | 'none' | 'join'} Link */

const NOBODY = { id: '', name: '', role: /** @type {'lead' | 'crew' | 'house'} */ ('crew') };

export const rig = {
  rev: 0,
  /** False between the first and the second piece of hello. */
  isWhole: false,
  /** @type {Cell<Link>} */ link: new Cell(/** @type {Link} */ ('opening')),
  /** The last link ended because the lead has removed this phone. */
  isRemoved: false,
  /** @type {Cell<import('../net/contract.js').Me>} */ you: new Cell(NOBODY),
  show: new Cell({ name: '', venue: '' }),
  /** @type {Cell<Record<string, import('../net/contract.js').Person>>} */ people: new Cell({}),
  /** @type {Map<string, Cell<Fixture>>} */ fixtures: new Map(),
  /** Fixture ids in hang order: positions as the rig lists them, units counted upwards. */
  list: new Cell(/** @type {string[]} */ ([])),
  /** How often a fixture has come, gone, or had its patch changed. */
  patched: new Cell(0),
  /** Anybody's hold, a mark of the focus call, a fault, hands on or what is armed changed: the count of what I hold, the list of who is here. */
  holds: new Cell(0),
  /** @type {Map<string, Profile>} */ profiles: new Map(),
  /** @type {Cell<Record<string, import('../net/contract.js').Look>>} */ looks: new Cell({}),
  baseline: new Cell(/** @type {string | null} */ (null)),
  master: new Cell(1),
  blackout: new Cell(false),
  /** A blackout that was announced. */
  dark: new Cell(/** @type {import('../net/contract.js').Dark | null} */ (null)),
  /** The fixture that may flash faster. */
  lifted: new Cell(/** @type {import('../net/contract.js').Lifted | null} */ (null)),
  /** Somebody looks for the light they stand under. */
  teaching: new Cell(/** @type {import('../net/contract.js').Teaching | null} */ (null)),
  seek: new Cell(/** @type {import('../net/contract.js').Seek | null} */ (null)),
  order: new Cell(/** @type {string[]} */ ([])),
  /** The fixture each person is at in the focus call, and what the lead has set for it. */
  now: new Cell(/** @type {Record<string, string>} */ ({})),
  shouts: new Cell(/** @type {import('../net/contract.js').Shout[]} */ ([])),
  shared: new Cell(/** @type {Record<string, import('../net/contract.js').Shared>} */ ({})),
  call: new Cell(/** @type {import('../net/contract.js').Call} */ ({ level: 0.5, fade_s: 2, beside: '', beside_level: 0.2 })),
  /** @type {Record<string, number>} */ settings: {},
  /** @type {Cell<import('../net/contract.js').Slots>} */ slots: new Cell({}),
  universes: new Cell(/** @type {number[]} */ ([])),
  /** @type {Cell<Record<string, import('../net/contract.js').Told>>} */ alerts: new Cell({}),
  laptop: new Cell(/** @type {import('../net/contract.js').Laptop} */ ({ pages: [], name: null })),
  /** The rig check that goes on: how far it is, and who is where. */
  check: new Cell(/** @type {import('../net/contract.js').Check | null} */ (null)),
  /** The register of faults: how many are open or fixed, and a number that grows with each step. */
  faults: new Cell({ open: 0, fixed: 0, steps: 0 }),
  /** How many entries this phone keeps until there is a link. */
  kept: new Cell(0),
  /** No link for so long that the laptop may be found somewhere else. */
  far: new Cell(false),
};

let isNamed = false;
/** Settles once our profiles are called as this phone speaks: those that were told already are named anew. */
export async function nameProfiles() {
  if (!(await fetchProfileWords()) || isNamed) return;
  isNamed = true;
  for (const [key, profile] of rig.profiles) rig.profiles.set(key, named(profile));
  rig.list.touch();
}

/** The newest alerts that were told. */
let alerts = rig.alerts.value;
/** They wait for the words to say them in; usually there are none. @param {typeof alerts} told */
function takeAlerts(told) {
  alerts = told;
  const show = () => void (rig.alerts.value = alerts);
  if (Object.keys(told).length) onceSaid(show);
  else show();
}

/** What is the lead's to settle, and what the others are told meanwhile. */
const LEADS = /^(heard|join|node|follow|move) /;
const OTHERS = /^waits$/;

/** What needs a look by whoever holds this phone. Who else sends, and nodes, come last. */
export function alertsHere() {
  const lead = rig.you.value.role === 'lead';
  const all = Object.entries(rig.alerts.value).filter(([about]) => !(lead ? OTHERS : LEADS).test(about));
  const last = all.filter(([about]) => /^(heard|node) /.test(about));
  return [...all.filter((one) => !last.includes(one)), ...last].map(([, told]) => told);
}

/** Whether a universe waits for the lead, who holds this phone. */
export function joins() {
  return rig.you.value.role === 'lead' && Object.keys(rig.alerts.value).some((about) => about.startsWith('join '));
}

/** @param {import('../net/contract.js').Hello} hello the whole state; everything known before is forgotten */
export function replace(hello) {
  const known = new Set(Object.keys(hello.fixtures ?? {}));
  for (const id of rig.fixtures.keys()) if (!known.has(id)) rig.fixtures.delete(id);
  rig.people.value = {};
  rig.looks.value = {};
  rig.slots.value = {};
  takeAlerts({});
  for (const cell of rig.fixtures.values()) cell.value = { ...cell.value, values: {} };
  merge(hello, true);
  rig.isWhole = !hello.more;
}

/**
 * @param {News} news
 * @param {boolean} [whole] true for hello and its rest
 */
export function merge(news, whole = false) {
  rig.rev = news.rev;
  rig.isWhole ||= whole;
  if (news.you) rig.you.value = news.you;
  if (news.show) rig.show.value = news.show;
  if (news.people) rig.people.value = mix(rig.people.value, news.people);
  const called = rig.people.value[rig.you.value.id]?.name;
  if (called && called !== rig.you.value.name) rig.you.value = { ...rig.you.value, name: called };
  for (const [key, profile] of Object.entries(news.profiles ?? {})) rig.profiles.set(key, named(profile));
  if (news.looks) rig.looks.value = mix(rig.looks.value, news.looks);
  if (news.baseline !== undefined) rig.baseline.value = news.baseline;
  if (news.master !== undefined) rig.master.value = news.master;
  if (news.blackout !== undefined) rig.blackout.value = news.blackout;
  if (news.dark !== undefined) rig.dark.value = timed(news.dark);
  if (news.lifted !== undefined) rig.lifted.value = timed(news.lifted);
  if (news.teaching !== undefined) rig.teaching.value = news.teaching;
  if (news.seek !== undefined) rig.seek.value = news.seek;
  if (news.order) rig.order.value = news.order;
  if (news.now) rig.now.value = news.now;
  if (news.call) rig.call.value = news.call;
  if (news.shared) rig.shared.value = news.shared;
  if (news.shouts) rig.shouts.value = news.shouts.map((shout) => ({ ...shout, at: performance.now() - shout.ago_s * 1000 }));
  if (news.settings) rig.settings = { ...rig.settings, ...news.settings };
  if (news.universes) rig.universes.value = news.universes;
  if (news.alerts) takeAlerts(news.alerts); // always told whole
  if (news.laptop) rig.laptop.value = news.laptop;
  if (news.check) rig.check.value = news.check;
  if (news.faults) rig.faults.value = news.faults;
  if (news.slots) mixSlots(news.slots);
  if (news.fixtures) mixFixtures(news.fixtures, whole);
}

/**
 * What ends by the clock, with its end by this phone's own: phones' clocks differ.
 * @template {{left_s: number, ends: number}} T @param {T | null} told @returns {T | null}
 */
const timed = (told) => told && { ...told, ends: performance.now() + told.left_s * 1000 };

/**
 * @template T
 * @param {Record<string, T>} old
 * @param {Record<string, T | null>} news null takes the entry away
 * @returns {Record<string, T>}
 */
function mix(old, news) {
  const now = { ...old };
  for (const [key, value] of Object.entries(news)) {
    if (value === null) delete now[key];
    else now[key] = value;
  }
  return now;
}

/** @param {import('../net/contract.js').Slots} news */
function mixSlots(news) {
  const now = { ...rig.slots.value };
  for (const [universe, slots] of Object.entries(news)) now[universe] = mix(now[universe] ?? {}, slots);
  rig.slots.value = now;
}

/**
 * @param {Record<string, Partial<Fixture> | null>} news
 * @param {boolean} whole
 */
function mixFixtures(news, whole) {
  let order = whole;
  let holds = whole;
  let patched = whole;
  for (const [id, part] of Object.entries(news)) {
    const cell = rig.fixtures.get(id);
    if (cell && whole) rig.fixtures.delete(id); // and comes back in its place: the first of a position says where that is
    if (part === null) {
      order = holds = patched = rig.fixtures.delete(id) || order;
      continue;
    }
    if (!cell && part.profile === undefined) continue; // news of one that this phone was never told whole
    patched ||= 'mode' in part; // what is told of the patch is told whole
    for (const clock of /** @type {const} */ (['armed', 'busy', 'cools'])) if (part[clock]) Object.assign(part, { [clock]: timed(part[clock]) });
    holds ||= 'holder' in part || 'focus' in part || 'fault' in part || 'hands_on' in part || 'armed' in part;
    order ||= !cell || 'position' in part || 'unit' in part || 'channel' in part || 'purpose' in part;
    if (!cell) {
      rig.fixtures.set(id, new Cell(/** @type {Fixture} */ ({ ...part, values: { ...part.values } })));
    } else {
      const values = part.values ? Object.assign(cell.value.values, part.values) : cell.value.values;
      Object.assign(cell.value, part, { values });
      rig.fixtures.set(id, cell);
      cell.touch();
    }
  }
  if (order) rig.list.value = hangOrder();
  if (holds) rig.holds.value += 1;
  if (patched) rig.patched.value += 1;
}

/** @type {Intl.Collator | undefined} made when it is first needed: it is slow to wake, and units are mostly plain numbers */
let natural;
const COUNTED = /^\d+$/;
/** 2 before 10, and 3a before 3b. @param {string} a @param {string} b */
function compare(a, b) {
  if (a === b) return 0;
  if (COUNTED.test(a) && COUNTED.test(b)) return Number(a) - Number(b);
  return (natural ??= new Intl.Collator(language, { numeric: true })).compare(a, b);
}

function hangOrder() {
  /** @type {Map<string, number>} */
  const positions = new Map();
  for (const { value } of rig.fixtures.values())
    if (!positions.has(value.position)) positions.set(value.position, positions.size);
  return [...rig.fixtures.keys()].sort((one, two) => {
    const a = fixture(one);
    const b = fixture(two);
    const apart = (positions.get(a.position) ?? 0) - (positions.get(b.position) ?? 0);
    return apart || compare(a.unit, b.unit) || a.channel - b.channel;
  });
}

/**
 * The fixture of that id. Ask `rig.fixtures.has` first when the id comes from outside.
 * @param {string} id
 * @returns {Fixture}
 */
export function fixture(id) {
  const cell = rig.fixtures.get(id);
  if (!cell) throw new Error(`no fixture ${id}`);
  return cell.value;
}

/** @param {number} channel @returns {string | undefined} */
export function fixtureOfChannel(channel) {
  return rig.list.value.find((id) => fixture(id).channel === channel);
}

/** @param {Fixture} it @returns {Mode | undefined} */
export function modeOf(it) {
  return rig.profiles.get(it.profile)?.modes.find((mode) => mode.name === it.mode);
}

/** @param {string | null} id @returns {string} a name, or "Somebody" for a person this phone was not told of */
export function nameOf(id) {
  return (id && rig.people.value[id]?.name) || words.app.somebody;
}

/** @param {Fixture} it @returns {string} names, "You" among them, or "" while nobody has hands on it */
export const handsOf = (it) => namesOf(it.hands_on);

/** @param {string[]} people ids @returns {string} names, "You" among them */
export const namesOf = (people) => people.map((who) => (who === rig.you.value.id ? words.marks.you : nameOf(who))).join(', ');

/** @param {string} [position] where; left out: anywhere @returns {string[]} ids of those who work at height there */
export const aloftAt = (position) => Object.entries(rig.people.value).flatMap(([id, { aloft }]) => (aloft != null && (position === undefined || aloft === position) ? [id] : []));

/** Swings or travels when it is driven, as the server has it. @param {string} key */
export const moves = (key) => /^(Pan|Tilt|XYZ_)/.test(key);

/** Somebody is aloft beside it and it was not let move yet: that takes a held button. @param {string} id @param {string[]} keys */
export function waits(id, keys) {
  const it = rig.fixtures.get(id)?.value;
  return !!it && keys.some(moves) && aloftAt(it.position).length > 0 && (it.still || it.holder !== rig.you.value.id);
}

/** @returns {string[]} ids of the fixtures this phone's person has in hand, in hang order */
export function mine() {
  const me = rig.you.value.id;
  return rig.list.value.filter((id) => fixture(id).holder === me);
}
