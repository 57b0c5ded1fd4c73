// @ts-check
/** The register of faults: what is open, what became of each, and the questions that lead to a cause. */
import { h, mark, once, styled, write } from '../elements/dom.js';
import { photoButton, pictureOf } from '../elements/photo.js';
import { redraw } from '../elements/rows.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { rig } from '../state/rig.js';
import { onFinding } from '../words/finding.js';
import { late } from '../words/late.js';
import { fetchLaptopWords, words } from '../words/words.js';
import { guideFor } from './fault-guide.js';

/** @typedef {{what: string, by: string, at: number, words: string, photo: string}} FaultStep */
/** @typedef {{number: number, fixture: string, channel: number | null, position: string, unit: string, type: string, show: string, reason: string, words: string, status: 'open' | 'fixed' | 'verified', here: boolean, steps: FaultStep[]}} Case */

const WORDS = onFinding.faults;
const WHICH = /** @type {const} */ (['open', 'fixed', 'verified', 'all']);
let which = /** @type {(typeof WHICH)[number]} */ ('open');

/** @param {import('../app.js').Stage} stage `args`: one fixture, or none for all of them */
export function show({ main, args, signal }) {
  const only = args[0] && rig.fixtures.has(args[0]) ? args[0] : '';
  const it = only ? rig.fixtures.get(only)?.value : null;
  const count = h('p', { className: 'count', role: 'status' });
  const list = h('ul', { className: 'cases', 'aria-label': WORDS.title });
  const choices = WHICH.map((name) => h('button', { type: 'button', onclick: () => ((which = name), draw()) }, WORDS.which[name]));
  const papers = h('div', { className: 'choice' }, h('a', { className: 'button', href: '/api/faults/table.csv', download: 'faults.csv' }, WORDS.table), rig.you.value.role === 'house' ? null : h('a', { className: 'button', href: `/api/papers/faults.pdf?${new URLSearchParams({ language: document.documentElement.lang })}`, download: 'faults.pdf' }, WORDS.paper));
  /** @type {Case[]} */
  let cases = [];
  const open = new Set(/** @type {number[]} */ ([]));
  const draw = () => {
    choices.forEach((button, at) => mark(button, 'aria-pressed', String(WHICH[at] === which)));
    const shown = cases.filter((one) => only || which === 'all' || one.status === which);
    redraw(list, shown.map((one) => [String(one.number), one]), (one) => row(one, open));
    write(count, shown.length ? '' : WORDS.none);
    count.hidden = shown.length > 0;
  };
  let turn = 0;
  const load = async () => {
    const mine = ++turn;
    const found = await call('GET', `/api/faults${only ? `?fixture=${encodeURIComponent(only)}` : ''}`).catch((/** @type {Error} */ error) => say(error.message));
    await fetchLaptopWords();
    if (signal.aborted || !found || mine !== turn) return; // newer ones are on their way
    cases = found;
    draw();
  };
  main.append(
    h('h1', null, it ? WORDS.of(it.channel, words.fixture.place(it.position, it.unit)) : WORDS.title),
    ...(it ? [h('a', { className: 'button', href: `#fixture/${only}` }, WORDS.sheet(it.channel)), guideFor(only, signal)] : [h('div', { className: 'choice', role: 'group', 'aria-label': WORDS.title }, ...choices)]),
    list, count, ...(it ? [] : [papers]));
  rig.faults.read(() => void load(), signal);
  void styled('elements/photo');
}

/** @param {number} at */
const day = (at) => (at ? new Date(at * 1000).toLocaleString(document.documentElement.lang, { dateStyle: 'short', timeStyle: 'short' }) : '');

/** @param {Case} one @param {Set<number>} open cases whose story is unfolded */
function row(one, open) {
  const first = one.steps[0];
  const where = [one.position && words.fixture.place(one.position, one.unit), one.type].filter(Boolean).join(' \u00b7 ');
  const told = words.marks.fault(one.words);
  const head = h('summary', null,
    h('b', { className: 'number' }, String(one.channel ?? '\u2013')),
    h('span', { className: 'what' }, h('b', { className: 'fault-mark', 'data-status': one.status }, `${WORDS.which[one.status]} \u00b7 ${told}`), h('small', null, where), h('small', null, first ? `${first.by} ${day(first.at)}` : '')));
  const story = h('ol', { className: 'story' }, ...one.steps.map((step) => h('li', null,
    h('b', null, WORDS.steps[/** @type {keyof typeof WORDS.steps} */ (step.what)] ?? step.what), h('span', null, [step.by, day(step.at)].filter(Boolean).join(' \u00b7 ')), step.words && step.words !== one.words ? h('span', null, step.words) : null,
    step.photo ? h('a', { href: pictureOf(step.photo), target: '_blank', className: 'picture' }, h('img', { src: pictureOf(step.photo), alt: late.photo.picture, loading: 'lazy' })) : null)));
  const folded = h('details', { open: open.has(one.number) }, head, story, acts(one));
  folded.addEventListener('toggle', () => (folded.open ? open.add(one.number) : open.delete(one.number)));
  return h('li', { 'data-status': one.status }, folded);
}

/** What can become of it now. @param {Case} one */
function acts(one) {
  const note = h('input', { type: 'text', maxLength: 200, placeholder: WORDS.note, 'aria-label': WORDS.note, autocomplete: 'off', enterKeyHint: 'done' });
  const photo = one.here ? photoButton(one.fixture) : null;
  const button = (/** @type {'fixed' | 'verified' | 'reopened' | 'said'} */ what, main = false) =>
    h('button', { type: 'button', className: main ? 'main' : '', onclick: once(() => void command({ do: 'fault_settle', case: one.number, what, words: note.value.trim(), photo: photo?.photo ?? '' })) }, WORDS.acts[what]);
  const can = one.status === 'open' ? [button('fixed', true), button('verified')] : one.status === 'fixed' ? [button('verified', true), button('reopened')] : [button('reopened')];
  const more = h('div', { className: 'choice' }, button('said'), one.here ? h('a', { className: 'button', href: `#faults/${one.fixture}` }, WORDS.questions) : null);
  return h('div', { className: 'acts' }, note, photo?.node ?? null, h('div', { className: 'ends' }, ...can), more);
}
