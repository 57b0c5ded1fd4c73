// @ts-check
/** Another unit came up than the one that was asked for: a handful of such answers, and what is likely wrong. */
import { h, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { Cell } from '../state/cell.js';
import { fixture, rig } from '../state/rig.js';
import { onFinding } from '../words/finding.js';
import { said } from '../words/words.js';

const WORDS = onFinding.instead;
const MOST = 20; // answers, as the server has it

/** @typedef {{asked: string, lit: string[]}} Seen */
/** @typedef {import('../net/contract.js').Told} Told */
/** @typedef {Told & {kind: string, proof: Told, fixtures: Record<string, {universe: number | null, address: number | null, mode: string}>}} Mistake */
/** @typedef {{mistakes: Mistake[], check: {fixture: string, lit: string[]} | null}} Explanation */

/** What was seen so far: it outlasts going to look at something else. @type {Cell<Seen[]>} */
const answers = new Cell(/** @type {Seen[]} */ ([]));

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const asked = h('input', { id: 'asked', inputMode: 'numeric', autocomplete: 'off', enterKeyHint: 'next', maxLength: 8 });
  const lit = h('input', { id: 'lit', inputMode: 'text', autocomplete: 'off', enterKeyHint: 'done', maxLength: 60, placeholder: WORDS.several });
  const who = h('p', { className: 'hint who' });
  const why = h('p', { className: 'why', role: 'alert' });
  const up = h('button', { type: 'button' }, WORDS.light);
  const list = h('ul', { className: 'answers' });
  const found = h('section', { className: 'explained', 'aria-live': 'polite', 'aria-label': WORDS.likely });

  const look = () => {
    const id = withChannel(asked.value.trim());
    up.disabled = !id;
    write(who, id ? placeOf(id) : asked.value.trim() ? WORDS.nobody(asked.value.trim()) : '');
  };
  const add = (/** @type {string[]} */ came) => {
    const id = withChannel(asked.value.trim());
    if (!id) return write(why, asked.value.trim() ? WORDS.nobody(asked.value.trim()) : WORDS.askFirst);
    write(why, '');
    answers.value = [...answers.value.filter((seen) => seen.asked !== id), { asked: id, lit: came }].slice(-MOST);
    void command({ do: 'let_go', fixture: id }, true);
    asked.value = lit.value = '';
    look();
    asked.focus();
  };
  const ask = (/** @type {string} */ id) => {
    asked.value = String(fixture(id).channel);
    look();
    void command({ do: 'light_up', fixture: id, as_it_hangs: true });
    lit.focus();
  };
  asked.addEventListener('input', look);
  up.addEventListener('click', once(() => {
    const id = withChannel(asked.value.trim());
    if (id) ask(id);
  }));
  const form = h('form', { noValidate: true, className: 'entry-form', onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    const named = lit.value.split(/[\s,;+]+/).filter(Boolean);
    const unknown = named.find((one) => !withChannel(one));
    if (unknown) return write(why, WORDS.nobody(unknown));
    if (!named.length) return write(why, WORDS.sayWhich);
    add(named.map(withChannel));
  } },
  h('label', { for: 'asked' }, WORDS.asked), h('div', { className: 'entry' }, asked, up), who,
  h('label', { for: 'lit' }, WORDS.lit), lit, why,
  h('div', { className: 'ends' }, h('button', { type: 'button', onclick: once(() => add([])) }, WORDS.nothing), h('button', { type: 'submit', className: 'main' }, WORDS.add)));

  answers.read((all) => {
    list.replaceChildren(...all.map((seen) => h('li', null, h('span', null, WORDS.seen(channel(seen.asked), seen.lit.map(channel).join(', '))),
      h('button', { type: 'button', 'aria-label': WORDS.forgetSeen(channel(seen.asked)), onclick: () => (answers.value = answers.value.filter((other) => other !== seen)) }, WORDS.forget))));
    void explain(found, ask);
  }, signal);
  look();
  main.append(h('h1', null, WORDS.title), h('p', { className: 'hint' }, WORDS.how), form, list, found);
}

/** @param {string} typed a channel @returns {string} the fixture's id, or '' */
const withChannel = (typed) => rig.list.value.find((id) => String(fixture(id).channel) === typed) ?? '';
/** @param {string} id */
const channel = (id) => (rig.fixtures.has(id) ? String(fixture(id).channel ?? '–') : '–');
/** @param {string} id */
const placeOf = (id) => [fixture(id).position, fixture(id).unit && onFinding.seek.unitOf(fixture(id).unit), fixture(id).purpose].filter(Boolean).join(' · ');

let asking = 0;
/** @param {Element} place @param {(id: string) => void} ask lights a unit up and waits for what came up */
async function explain(place, ask) {
  const turn = ++asking;
  const seen = answers.value.filter(({ asked, lit }) => [asked, ...lit].every((id) => rig.fixtures.has(id)));
  if (!seen.length) return place.replaceChildren();
  /** @type {Explanation[] | Error} */
  const all = await call('POST', '/api/explain', { answers: seen }).catch((/** @type {Error} */ wrong) => wrong);
  if (turn !== asking) return;
  if (all instanceof Error) return place.replaceChildren(h('p', { className: 'why' }, all.message));
  const right = seen.every(({ asked, lit }) => lit.length === 1 && lit[0] === asked);
  if (!all.length) return place.replaceChildren(h('p', null, right ? WORDS.allRight : WORDS.cannot));
  place.replaceChildren(h('h2', null, all.length > 1 ? WORDS.likeliest(all.length) : WORDS.likely), ...all.map((one) => card(one, ask)));
}

/** @param {Explanation} one @param {(id: string) => void} ask */
function card({ mistakes, check }, ask) {
  const parts = mistakes.flatMap((one) => [h('b', null, said(one)), h('span', { className: 'proof' }, said(one.proof))]);
  const next = check && rig.fixtures.has(check.fixture) && h('button', { type: 'button', onclick: once(() => ask(check.fixture)) },
    h('b', null, WORDS.askNext(channel(check.fixture))), h('span', null, check.lit.length ? WORDS.thenComes(check.lit.map(channel).join(', ')) : WORDS.thenNothing));
  const can = rig.you.value.role === 'lead' && mistakes.every(({ kind }) => ['address', 'mode', 'swapped', 'line'].includes(kind));
  const patch = can && holdButton(WORDS.patchSo, WORDS.patchSoWords, () => void patchSo(mistakes));
  return h('article', null, ...parts, next, patch);
}

/** The patch follows what is really set: one change, one undo. @param {Mistake[]} mistakes */
async function patchSo(mistakes) {
  const fixtures = Object.assign({}, ...mistakes.map((one) => one.fixtures));
  try {
    await call('PATCH', '/api/fixtures', { fixtures });
    answers.value = [];
    say(WORDS.patched);
  } catch (wrong) {
    say(/** @type {Error} */ (wrong).message);
  }
}
