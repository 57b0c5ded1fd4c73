// @ts-check
/** A rig file in and out: what it would do is shown first, and one press undoes all that it did. */
import { h, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { onPatch } from '../words/patch.js';
import { fetchLaptopWords } from '../words/words.js';
import { makeReport } from './bring-report.js';

/** @typedef {import('./bring-report.js').Report} Report */
/** How the file is meant. columns: what a column is, by its heading. @typedef {{keep: boolean, leave: boolean, evenSo: boolean, columns: Map<string, string>}} How */

const WORDS = onPatch.rigFile;
const TWICE = '{position} already has a unit {unit}.'; // how the laptop's sentence about two of one number begins

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const lead = rig.you.value.role === 'lead';
  const out = h('section', { 'aria-labelledby': 'out' }, h('h2', { id: 'out' }, WORDS.out),
    h('div', { className: 'choice outs' }, ...(/** @type {const} */ (['csv', 'json', 'mvr']).map((kind) => h('a', { className: 'button', href: `/api/rig/export.${kind}`, download: '' }, h('b', null, WORDS.outs[kind][0]), h('small', null, WORDS.outs[kind][1]))))));
  main.append(h('h1', null, WORDS.title), lead ? makeIn(signal) : h('p', { className: 'hint' }, WORDS.leadOnly), out);
}

/** @param {AbortSignal} signal */
function makeIn(signal) {
  let file = /** @type {File | null} */ (null);
  let how = /** @type {How} */ ({ keep: false, leave: false, evenSo: false, columns: new Map() });
  const input = h('input', { type: 'file', hidden: true, accept: '.csv,.tsv,.txt,.json,.mvr', 'aria-label': WORDS.choose });
  const choose = h('button', { type: 'button', className: 'pick', onclick: () => input.click() }, h('b', null, WORDS.choose), h('small', null, WORDS.kinds));
  const shown = h('div', { className: 'shown' });
  const status = h('p', { className: 'hint', role: 'status' });
  const node = h('section', { 'aria-labelledby': 'in' }, h('h2', { id: 'in' }, WORDS.in), choose, input, status, shown);

  let turn = 0;
  const look = async () => {
    const [mine, chosen] = [++turn, file];
    if (!chosen) return;
    write(status, WORDS.reading(chosen.name));
    const report = await call('POST', `/api/rig/import?check=true&${asked(how)}`, chosen).catch((/** @type {Error} */ error) => error.message);
    await fetchLaptopWords();
    if (signal.aborted || mine !== turn) return;
    write(status, typeof report === 'string' ? report : WORDS.readAs(chosen.name));
    if (typeof report !== 'string') draw(chosen, report);
  };
  /** @param {File} chosen */
  const take = (chosen) => {
    file = chosen;
    how = { keep: false, leave: false, evenSo: false, columns: new Map() };
    shown.replaceChildren();
    void look();
  };
  /** @param {Partial<How>} changed */
  const mean = (changed) => {
    Object.assign(how, changed);
    void look();
  };
  /** @param {File} chosen @param {Report} report */
  const draw = (chosen, report) => {
    const { added, changed, removed, stays, problems } = report;
    const wrong = problems.length > 0;
    const does = WORDS.does(added.length, changed.length, removed.length);
    const nothing = added.length + changed.length + removed.length === 0;
    const stopped = wrong && !how.leave;
    const press = h('button', { type: 'button', className: 'main go', disabled: stopped || nothing, onclick: once(() => void go(chosen)) }, WORDS.go, h('small', null, stopped ? WORDS.stopped : nothing ? WORDS.same : does));
    shown.replaceChildren(
      wayOf(WORDS.whole, [[WORDS.isWhole(how.keep ? 0 : removed.length), !how.keep], [WORDS.isPart, how.keep]], (at) => mean({ keep: at === 1 })),
      ...(report.unsure ? [h('p', { className: 'caution' }, WORDS.unsure)] : []),
      ...(wrong || how.leave ? [wayOf(WORDS.wrong(problems.length), [[WORDS.allOrNothing, !how.leave], [WORDS.without(problems.length), how.leave]], (at) => mean({ leave: at === 1 }))] : []),
      ...(how.evenSo || problems.some(({ said }) => said?.[0].startsWith(TWICE)) ? [wayOf(WORDS.twice, [[WORDS.isMistake, !how.evenSo], [WORDS.isMeant, how.evenSo]], (at) => mean({ evenSo: at === 1 }))] : []),
      press,
      makeReport(report, stays, how.columns.size > 0, (heading, field) => mean({ columns: new Map([...how.columns, [heading, field]]) })));
  };
  /** @param {File} chosen */
  const go = async (chosen) => {
    const report = await call('POST', `/api/rig/import?${asked(how)}`, chosen).catch((/** @type {Error} */ error) => say(error.message));
    if (!report || signal.aborted) return;
    file = null;
    write(status, WORDS.done(chosen.name));
    shown.replaceChildren(h('p', { className: 'did' }, h('b', null, WORDS.does(report.added.length, report.changed.length, report.removed.length))), ...(report.change ? [makeUndo(report.change)] : []));
    shown.scrollIntoView({ block: 'nearest' });
  };
  input.addEventListener('change', () => {
    const chosen = input.files?.[0];
    input.value = ''; // or the same file could not be chosen a second time
    if (chosen) take(chosen);
  });
  for (const name of ['dragover', 'drop']) document.addEventListener(name, (event) => event.preventDefault(), { signal });
  document.addEventListener('drop', (event) => event.dataTransfer?.files[0] && take(event.dataTransfer.files[0]), { signal });
  return node;
}

/** @param {How} how */
function asked({ keep, leave, evenSo, columns }) {
  const query = new URLSearchParams();
  for (const [name, on] of Object.entries({ keep, leave_out: leave, even_so: evenSo })) if (on) query.set(name, 'true');
  for (const [heading, field] of columns) query.append('column', `${field}:${heading}`);
  return query;
}

/** Ways that are sentences, of which one holds. @param {string} label @param {[string, boolean][]} ways @param {(at: number) => void} choose */
const wayOf = (label, ways, choose) => h('div', { className: 'sentences', role: 'group', 'aria-label': label }, h('h3', null, label),
  ...ways.map(([sentence, on], at) => h('button', { type: 'button', 'aria-pressed': String(on), onclick: () => choose(at) }, sentence)));

/** The whole file as one change, undone and done again. @param {number} change */
function makeUndo(change) {
  let undone = false;
  const why = h('p', { className: 'why', role: 'alert' });
  const undo = async (/** @type {boolean} */ held) => {
    const answer = await command({ do: 'undo', change, ...(held ? { over: true, held: true } : {}) }, true);
    if (answer.is === 'ok') undone = !undone;
    write(why, answer.is === 'ok' ? '' : answer.why);
    draw(answer.is === 'refused' && (answer.ask === 'take' || answer.ask === 'held'));
  };
  const node = h('div', { className: 'undo-all' });
  const draw = (/** @type {boolean} */ hold) => {
    const label = undone ? WORDS.redo : WORDS.undo;
    node.replaceChildren(h('p', { role: 'status' }, undone ? WORDS.undone : WORDS.record), hold ? holdButton(label, late.past.hold, () => void undo(true)) : h('button', { type: 'button', onclick: once(() => void undo(false)) }, label), why);
  };
  draw(false);
  return node;
}
