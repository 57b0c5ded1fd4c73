// @ts-check
/** A few questions, one at a time, from what a unit does wrong to what to look at next. */
import { h, mark, once, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { fixture } from '../state/rig.js';
import { onFinding } from '../words/finding.js';
import { fetchLaptopWords, said } from '../words/words.js';

/** @typedef {import('../net/contract.js').Told} Told */
/** @typedef {{question: Told | null, cause: Told | null, asked: number, known: Told[], unknown: Told[]}} Guided */

const WORDS = onFinding.guide;
const SYMPTOMS = /** @type {(keyof typeof WORDS.symptoms)[]} */ (Object.keys(WORDS.symptoms));

/** @param {string} id fixture @param {AbortSignal} signal */
export function guideFor(id, signal) {
  let symptom = '';
  let answers = '';
  const chips = SYMPTOMS.map((name) => h('button', { type: 'button', onclick: () => begin(name) }, WORDS.symptoms[name]));
  const question = h('p', { className: 'question', role: 'status' });
  const yes = h('button', { type: 'button', onclick: once(() => answer('y')) }, WORDS.yes);
  const no = h('button', { type: 'button', onclick: once(() => answer('n')) }, WORDS.no);
  const back = h('button', { type: 'button', onclick: once(() => void ask(answers.slice(0, -1))) }, WORDS.back);
  const note = h('button', { type: 'button', className: 'main', onclick: once(() => void keep()) }, WORDS.keep);
  const yesNo = h('div', { className: 'ends' }, yes, no);
  const facts = h('ul', { className: 'facts' });
  const box = h('div', { className: 'asking', hidden: true }, question, yesNo, note, back, facts);
  const begin = (/** @type {string} */ name) => {
    symptom = name;
    for (const [at, chip] of chips.entries()) mark(chip, 'aria-pressed', String(SYMPTOMS[at] === name));
    void ask('');
  };
  const answer = (/** @type {string} */ one) => void ask(answers + one);
  let cause = '';
  const ask = async (/** @type {string} */ wanted) => {
    const path = `/api/faults/guide?${new URLSearchParams({ fixture: id, symptom, answers: wanted })}`;
    /** @type {Guided | void} */
    const now = await call('GET', path).catch((/** @type {Error} */ error) => say(error.message));
    await fetchLaptopWords();
    if (signal.aborted || !now) return;
    answers = wanted;
    cause = now.cause ? said(now.cause) : '';
    box.hidden = false;
    write(question, now.question ? said(now.question) : cause);
    mark(question, 'data-cause', !!cause);
    yesNo.hidden = !now.question;
    note.hidden = !cause;
    back.disabled = !answers;
    facts.replaceChildren(...now.known.map((one) => h('li', null, WORDS.known(said(one)))), ...now.unknown.map((one) => h('li', null, said(one))));
  };
  /** The way here and where it led, as one more thing said of the fault. */
  const keep = async () => {
    const it = fixture(id);
    if (!it.fault) await command({ do: 'fault', fixture: id, words: WORDS.symptoms[/** @type {keyof typeof WORDS.symptoms} */ (symptom)] });
    /** @type {import('./faults.js').Case[] | void} */
    const cases = await call('GET', `/api/faults?fixture=${encodeURIComponent(id)}`).catch((/** @type {Error} */ error) => say(error.message));
    const open = (cases ?? []).find((one) => one.fixture === id && one.status === 'open');
    if (open) await command({ do: 'fault_settle', case: open.number, what: 'said', words: cause.slice(0, 200) });
  };
  return h('section', { className: 'guide', 'aria-labelledby': 'guide' }, h('h2', { id: 'guide' }, WORDS.title), h('div', { className: 'chips' }, ...chips), box);
}
