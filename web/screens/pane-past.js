// @ts-check
/** What happened last, and undoing it: what that will do is said first, and then done by a second press. */
import { h, mark, styled, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { fixture, rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { fetchLaptopWords, language, said } from '../words/words.js';

await styled('screens/pane-past');

/** @typedef {import('../net/contract.js').Said} Said */
/** @typedef {{text: string, said: Said}} Sentence */
/**
 * @typedef {{change: number, at: number, by: {id: string, name: string}, fixtures: string[], what: string, said: Said, final: boolean,
 *   undone: string | null, can: boolean, will: Sentence | null, why: Sentence | null, ask: 'take' | 'held' | 'dark' | null}} Change
 */

const WORDS = late.past;
const LATER_MS = 800; // a drag is over so long after its last move: asked once, not thirty times a second
const FEW = 6; // channels named; of more, the first ones
const BOUNCE_MS = 400; // common practice, no source

/** @param {Sentence | null} sentence */
const saidOf = (sentence) => (sentence ? said({ why: sentence.text, said: sentence.said }) : '');

/** @param {number} at seconds since 1970 @returns {string} the time of day, as this phone's language writes it */
export const timeOf = (at) => new Date(at * 1000).toLocaleTimeString(language, { hour: '2-digit', minute: '2-digit' });

/** @param {Record<string, string | number | undefined>} asked what is empty is left out */
export const query = (asked) => new URLSearchParams(Object.entries(asked).flatMap(([name, value]) => (value ? [[name, String(value)]] : []))).toString();

/**
 * @param {{query: Record<string, string | number | undefined>, most: number, marks: boolean, signal: AbortSignal}} how marks: with what is never undone
 * @returns {{node: HTMLElement, later: () => void}} later: something may have changed
 */
export function makePast({ query: asked, most, marks, signal }) {
  const list = h('ul', { className: 'past' });
  const empty = h('p', { className: 'hint', role: 'status' });
  let opened = 0; // the change whose undoing is being looked at
  let timer = 0;
  /** @type {Change[]} */
  let known = [];

  let turn = 0;
  const load = async () => {
    const mine = ++turn;
    const answer = await call('GET', `/api/changes?${query(asked)}`).catch((/** @type {Error} */ error) => error.message);
    await fetchLaptopWords();
    if (signal.aborted || mine !== turn) return; // a button that is held must not be drawn anew by what was asked before
    if (typeof answer === 'string') return write(empty, answer);
    known = answer.filter((/** @type {Change} */ one) => marks || !one.final).slice(0, most);
    draw();
  };
  const later = () => {
    clearTimeout(timer);
    if (!opened && !signal.aborted) timer = window.setTimeout(load, LATER_MS);
  };
  signal.addEventListener('abort', () => clearTimeout(timer));

  let last = -Infinity;
  /** Gloves fire twice, and the second press finds a button drawn anew. @param {() => void} press */
  const calm = (press) => () => {
    const now = performance.now();
    if (now - last < BOUNCE_MS) return;
    last = now;
    press();
  };
  const draw = () => {
    if (!known.some(({ change }) => change === opened)) opened = 0;
    write(empty, known.length ? '' : WORDS.nothing);
    list.replaceChildren(...known.map(row));
  };
  /** @param {Change} one @param {boolean} held */
  const go = async (one, held) => {
    const answer = await command({ do: 'undo', change: one.change, ...(held ? { over: one.ask === 'take', held: true } : {}) }, true);
    if (answer.is === 'ok') opened = 0;
    await load();
    if (answer.is === 'refused') list.querySelector('.will')?.append(h('p', { className: 'why', role: 'alert' }, answer.why));
  };
  /** @param {Change} one */
  const open = async (one) => {
    clearTimeout(timer);
    opened = one.change;
    await load(); // what it would do may be something else by now
    list.querySelector('.will')?.scrollIntoView({ block: 'nearest' });
    /** @type {HTMLElement | null} */ (list.querySelector('[aria-expanded="true"]'))?.focus({ preventScroll: true });
  };
  const shut = () => {
    opened = 0;
    draw();
    later();
  };
  /** @param {Change} one */
  const row = (one) => {
    const isOpen = one.change === opened;
    const label = one.undone ? WORDS.again : WORDS.undo;
    const what = said({ why: one.what, said: one.said });
    const channels = one.fixtures.slice(0, FEW).map((id) => (rig.fixtures.has(id) ? fixture(id).channel : '?')).join(', ') + (one.fixtures.length > FEW ? ' \u2026' : '');
    const about = [asked.fixture ? '' : channels, one.by.id === rig.you.value.id ? WORDS.you : one.by.name, timeOf(one.at)].filter(Boolean).join(' \u00b7 ');
    const button = one.final ? null : h('button', {
      type: 'button', 'aria-expanded': String(isOpen), 'aria-label': `${isOpen ? WORDS.leave : label}: ${what}`,
      onclick: calm(() => (isOpen ? shut() : void open(one))),
    }, isOpen ? WORDS.leave : label);
    return h('li', { 'data-undone': one.undone ? '' : null },
      h('div', { className: 'did' }, h('b', null, what), h('small', null, about), one.undone && h('small', null, WORDS.undone(one.undone))),
      button, isOpen && will(one));
  };
  /** @param {Change} one */
  const will = (one) => {
    const now = one.undone ? WORDS.againNow : WORDS.undoNow;
    const held = one.ask === 'take' || one.ask === 'held';
    const button = held ? holdButton(now, WORDS.hold, () => void go(one, true)) : h('button', { type: 'button', className: 'main', onclick: calm(() => void go(one, false)) }, now);
    return h('div', { className: 'will' },
      one.will ? h('p', null, `${WORDS.will} ${saidOf(one.will)}`) : null,
      one.why && one.ask !== 'take' ? h('p', { className: 'why', role: 'alert' }, saidOf(one.why)) : null,
      one.can || (held && one.will) ? button : null);
  };
  mark(list, 'aria-label', WORDS.title);
  void load();
  return { node: h('div', { className: 'past-list' }, list, empty), later };
}

/** On the sheet of a fixture. @param {import('./fixture.js').Reach} reach */
export function pastOf({ id, cell, signal }) {
  const past = makePast({ query: { fixture: id }, most: 8, marks: true, signal });
  cell.read(past.later, signal);
  return h('section', { 'aria-label': WORDS.title }, h('h2', null, WORDS.here), past.node);
}
