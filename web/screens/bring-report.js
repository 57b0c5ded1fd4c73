// @ts-check
/** What a rig file would do, in words: who comes in, what changes from what to what, what is wrong, and how it was read. */
import { h } from '../elements/dom.js';
import { rig } from '../state/rig.js';
import { onPatch } from '../words/patch.js';
import { said, words } from '../words/words.js';

/** @typedef {{where: string, why: string, said?: import('../net/contract.js').Said}} Problem */
/** A unit as the laptop's patch has it. @typedef {{id: string, channel: number | null, unit: string, position: string, purpose: string, profile: string, mode: string, universe: number | null, address: number | null, starts: {number: number, universe: number, address: number}[], house: boolean, guarded: boolean, work_light: boolean, notes: string, cap: number, placed: object | null, more: Record<string, string>}} Unit */
/** @typedef {{added: Unit[], changed: Unit[], before: Unit[], removed: Unit[], stays: Unit[], unsure: boolean, change: number | null, problems: Problem[], warnings: Problem[], left_out: Problem[], columns: Record<string, string>}} Report */

const WORDS = onPatch.rigFile;
const MOST = 300; // lines of one list: beyond that nobody reads, and the page would be slow
const FIELDS = /** @type {(keyof typeof WORDS.fields)[]} */ (Object.keys(WORDS.fields));

/**
 * @param {Report} report
 * @param {Unit[]} stays
 * @param {boolean} saying somebody is at saying what the columns are
 * @param {(heading: string, field: string) => void} mean a column is something else
 */
export function makeReport(report, stays, saying, mean) {
  const before = new Map(report.before.map((unit) => [unit.id, unit]));
  const problem = (/** @type {Problem} */ one) => h('li', null, h('b', null, placeOf(one.where)), h('span', null, said(one)));
  const unit = (/** @type {Unit} */ one) => h('li', null, h('b', null, called(one)), h('span', null, one.purpose));
  const change = (/** @type {Unit} */ one) => h('li', null, h('b', null, called(before.get(one.id) ?? one)), ...differences(before.get(one.id) ?? one, one).map(([field, from, to]) => h('span', null, WORDS.changes(field, from, to))));
  const columns = Object.entries(report.columns);
  return h('div', { className: 'report' },
    list(WORDS.problems, report.problems, problem, true),
    list(WORDS.stays, stays, unit),
    list(WORDS.warnings, report.warnings, problem),
    list(WORDS.changed, report.changed, change),
    list(WORDS.added, report.added, unit),
    list(WORDS.removed, report.removed, unit),
    list(WORDS.leftOut, report.left_out, problem),
    columns.length > 0 && h('details', { open: saying || (report.problems.length > 0 && !report.added.length && !report.changed.length) }, h('summary', null, WORDS.columns(columns.length)), h('p', { className: 'hint' }, WORDS.columnsHint),
      h('ul', { className: 'columns-read' }, ...columns.map(([heading, field]) => h('li', null, columnButton(heading, field, mean))))));
}

/** @template T @param {(count: number) => string} title @param {T[]} all @param {(one: T) => HTMLElement} row @param {boolean} [open] */
function list(title, all, row, open = false) {
  if (!all.length) return null;
  const rest = all.length - MOST;
  return h('details', { open }, h('summary', null, title(all.length)), h('ul', { className: 'told' }, ...all.slice(0, MOST).map(row), rest > 0 && h('li', null, WORDS.andMore(rest))));
}

/** @param {string} heading @param {string} field @param {(heading: string, field: string) => void} mean */
function columnButton(heading, field, mean) {
  const name = (/** @type {string} */ one) => (one ? WORDS.fields[/** @type {keyof typeof WORDS.fields} */ (one)] ?? one : WORDS.asItIs);
  const ask = () => {
    const end = () => dialog.close();
    const pick = (/** @type {string} */ other) => () => {
      end();
      if (other !== field) mean(heading, other);
    };
    const dialog = h('dialog', { 'aria-label': WORDS.meaning(heading) }, h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => event.preventDefault() },
      h('h2', null, WORDS.meaning(heading)),
      h('div', { className: 'chips meanings' }, ...[...FIELDS, ''].map((one) => h('button', { type: 'button', 'aria-pressed': String(one === field), onclick: pick(one) }, name(one)))),
      h('div', { className: 'ends' }, h('button', { type: 'button', onclick: end }, words.keypad.notNow))));
    dialog.addEventListener('close', () => dialog.remove());
    document.body.append(dialog);
    dialog.showModal();
  };
  return h('button', { type: 'button', onclick: ask }, h('b', null, heading), h('span', null, name(field)));
}

/** The laptop's name of a place in a file. @param {string} where */
function placeOf(where) {
  const found = /^(line|fixture) (\d+)$/.exec(where);
  return found ? WORDS.places[/** @type {'line' | 'fixture'} */ (found[1])](Number(found[2])) : where || WORDS.file;
}

/** @param {Unit} one */
const called = (one) => [one.channel, one.position && words.fixture.place(one.position, one.unit)].filter((part) => part !== null && part !== '').join(' \u00b7 ') || WORDS.nameless;

/** @param {Unit} before @param {Unit} after @returns {[string, string, string][]} field, from, to */
function differences(before, after) {
  const told = (/** @type {Unit} */ one) => /** @type {Record<string, string>} */ ({
    ...Object.fromEntries(/** @type {const} */ (['unit', 'position', 'purpose', 'mode', 'notes']).map((name) => [WORDS.fields[name], one[name]])),
    [WORDS.fields.channel]: String(one.channel ?? ''),
    [WORDS.fields.profile]: rig.profiles.get(one.profile)?.name ?? one.profile,
    [WORDS.fields.address]: one.address === null ? '' : `${one.universe}.${one.address}`,
    [WORDS.fields.starts]: one.starts.map((start) => `${start.number}: ${start.universe}.${start.address}`).join(', '),
    ...Object.fromEntries(/** @type {const} */ (['house', 'guarded', 'work_light']).map((name) => [WORDS.fields[name], one[name] ? WORDS.yes : WORDS.no])),
    [WORDS.cap]: words.values.percent(String(Math.round(one.cap * 100))),
    [WORDS.placed]: one.placed ? JSON.stringify(one.placed) : '',
    ...Object.fromEntries(Object.entries(one.more)),
  });
  const [from, to] = [told(before), told(after)];
  const names = [...new Set([...Object.keys(from), ...Object.keys(to)])].filter((name) => (from[name] ?? '') !== (to[name] ?? ''));
  if (!names.length) return [[WORDS.inverted, '', WORDS.otherwise]]; // the one thing that the laptop does not tell
  return names.map((name) => (name === WORDS.placed ? [name, '', WORDS.otherwise] : [name, from[name] || WORDS.empty, to[name] || WORDS.empty]));
}
