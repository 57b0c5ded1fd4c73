// @ts-check
/** A profile that is being drawn up: kept on this phone, checked by the laptop, tried on a fixture. */
import { call } from '../net/http.js';
import { Cell } from './cell.js';
import { keep, kept } from './prefs.js';

/** Its key follows from the rest. @typedef {Omit<import('../net/contract.js').Control, 'key'> & {start?: number, snap?: boolean}} Control */
/** @typedef {import('../net/contract.js').ControlFunction} ControlFunction */
/** @typedef {{name: string, footprint: number, further?: Record<string, number>, controls: Control[]}} Mode */
/** @typedef {{schema: 1, key: string, name: string, short_name: string, maker: string, kind: string, revision: number, guarded?: {reason: string, safe: number}, source?: unknown, modes: Mode[]}} Draft */
/** @typedef {{where: string, why: string}} Problem */

const CHECK_MS = 250;

/** @param {string} name */
const known = (name) => JSON.parse(kept(name, 'null'));

/** @type {Cell<Draft | null>} */
export const draft = new Cell(known('draft'));
/** What is wrong with it, as the laptop says; null while that is not known. @type {Cell<Problem[] | null>} */
export const problems = new Cell(/** @type {Problem[] | null} */ (null));
/** What of the chart it came from is not in it. @type {Cell<Problem[]>} */
export const report = new Cell(known('draft-report') ?? []);
/** The fixture that is of the draft for now, and what it was. @type {Cell<{fixture: string, was: {profile: string, mode: string}} | null>} */
export const trying = new Cell(known('trying'));

let timer = 0;
let asked = 0;

/** @param {Draft | null} wanted @param {Problem[]} [told] about the chart it came from */
export function begin(wanted, told = []) {
  report.value = told;
  keep('draft-report', told.length ? JSON.stringify(told) : null);
  draft.value = wanted;
  changed();
}

/** After anything in it was changed. */
export function changed() {
  const now = draft.value;
  problems.value = null;
  for (const mode of now?.modes ?? []) {
    const high = (/** @type {number} */ start) => Math.max(0, ...mode.controls.filter((one) => (one.start ?? 1) === start).flatMap(({ offset }) => offset));
    mode.footprint = high(1);
    for (const start of Object.keys(mode.further ?? {})) /** @type {Record<string, number>} */ (mode.further)[start] = high(Number(start));
  }
  keep('draft', now && JSON.stringify(now));
  draft.touch();
  clearTimeout(timer);
  if (now) timer = window.setTimeout(() => void check(), CHECK_MS);
}

export async function check() {
  const mine = ++asked;
  const answer = await call('POST', '/api/profiles/check', draft.value).catch((/** @type {Error} */ error) => ({ problems: [{ where: '', why: error.message }] }));
  if (mine === asked) problems.value = answer.problems;
}

/** @param {number} slots @param {string} name @param {string} maker @returns {Draft} of slots of which nothing is said yet */
export const blank = (slots, name, maker) => ({
  schema: 1, key: keyOf(maker, name), name, short_name: name.slice(0, 20), maker, kind: 'light', revision: 1,
  modes: [{ name: `${slots}-slot`, footprint: slots, controls: Array.from({ length: slots }, (_, at) => nothingAt(at + 1)) }],
});

/** @param {number} slot @returns {Control} */
export const nothingAt = (slot) => ({ attribute: 'NoFeature', offset: [slot], default: 0, home: 0, highlight: null, functions: [{ attribute: 'NoFeature', name: 'Nothing', dmx: [0, 255] }] });

/** @param {string} maker @param {string} name */
export const keyOf = (maker, name) => `${maker} ${name}`.toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 70) || 'own';

/** A copy to be changed is no longer the file it came from. @param {any} profile @returns {Draft} */
export function copyOf(profile) {
  const { source: _, ...rest } = structuredClone(profile);
  for (const mode of rest.modes) for (const control of mode.controls) delete control.key; // as its type says
  return { ...rest, key: `${rest.key.slice(0, 70)}-own`, revision: 1 };
}

/** How large a step is in which its ranges are written: of its coarse slot, where all of them keep to it. @param {Control} control */
export function stepOf({ offset, functions }) {
  const step = 256 ** Math.max(0, offset.length - 1);
  const spans = functions.flatMap((fn) => [fn.dmx, ...(fn.ranges ?? []).map(({ dmx }) => dmx)]);
  return spans.every(([first, last]) => first % step === 0 && (last + 1) % step === 0) ? step : 1;
}

/** Gives it other slots; with more or fewer of them all its values change their size. @param {Control} control @param {number[]} offset */
export function setSlots(control, offset) {
  const from = control.offset.length;
  const scale = 256 ** (offset.length - from);
  const low = (/** @type {number} */ raw) => Math.floor(raw * scale);
  const span = (/** @type {[number, number]} */ [first, last]) => /** @type {[number, number]} */ ([low(first), low(last + 1) - 1]);
  control.offset = offset;
  if (scale === 1) return;
  const most = 256 ** offset.length - 1;
  for (const fn of control.functions) {
    fn.dmx = span(fn.dmx);
    for (const range of fn.ranges ?? []) range.dmx = span(range.dmx);
    if (fn.action) /** @type {any} */ (fn.action).release = low(/** @type {any} */ (fn.action).release ?? 0);
  }
  control.default = low(control.default);
  control.home = low(control.home);
  if (control.highlight != null) control.highlight = control.highlight === 256 ** from - 1 ? most : low(control.highlight);
  if (control.guarded) control.guarded.safe = low(control.guarded.safe ?? 0);
}

/** @param {string} fixture @param {string} mode */
export async function tryOn(fixture, mode) {
  const told = await call('POST', `/api/profiles/try?${new URLSearchParams({ fixture, mode })}`, draft.value);
  // Tried once more, it goes back to what it was before the first time.
  if (trying.value?.fixture !== fixture) trying.value = { fixture, was: told.was };
  keep('trying', JSON.stringify(trying.value));
}

/** The fixture becomes what it was, or the kept profile. @param {{profile: string, mode: string}} [kind] */
export async function endTrying(kind) {
  if (!trying.value) return;
  await call('PATCH', `/api/fixtures/${trying.value.fixture}`, kind ?? trying.value.was);
  trying.value = null;
  keep('trying', null);
}
