// @ts-check
/** The show as a file: a copy out for another laptop or another day, and one in, with what it does said first. */
import { h } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { onShow } from '../words/show.js';
import { fetchLaptopWords, said, words } from '../words/words.js';

/** @typedef {{name: string, venue: string, fixtures: number, looks: number, faults: number}} Contents */
/** @typedef {{holds: Contents & {people: number}, replaces: Contents, left_out: number, problems: {why: string, said?: import('../net/contract.js').Said}[]}} Report */

/** For the lead only. */
export function makeShowFile() {
  const file = h('input', { type: 'file', hidden: true, accept: '.focuscall,.sqlite', 'aria-label': onShow.show.bring });
  file.addEventListener('change', () => {
    const chosen = file.files?.[0];
    file.value = ''; // or the same file could not be chosen a second time
    if (chosen) void look(chosen);
  });
  return h('section', { className: 'show-file', 'aria-labelledby': 'show-file' }, h('h2', { id: 'show-file' }, onShow.show.title),
    h('div', { className: 'choice' },
      h('a', { className: 'button', href: '/api/show/export', download: '' }, onShow.show.keep),
      h('button', { type: 'button', onclick: () => file.click() }, onShow.show.bring)),
    file, h('p', { className: 'hint' }, onShow.show.hint));
}

/** @param {File} file */
async function look(file) {
  try {
    const report = await call('POST', '/api/show/import?check=true', file);
    if (report.problems.length) await fetchLaptopWords();
    ask(file, report);
  } catch (error) {
    say(/** @type {Error} */ (error).message);
  }
}

const CLICK_MS = 100; // a click follows a release within so long (common practice, no source)

/** Settles once the hold has ended, click and all: what lies under the dialog must not get it. */
const released = () => new Promise((settle) => {
  for (const name of ['pointerup', 'pointercancel', 'keyup']) addEventListener(name, () => setTimeout(settle, CLICK_MS), { once: true, capture: true });
});

/** @param {Contents} show */
const named = (show) => [show.name, show.venue].filter(Boolean).join(', ');

/** @param {File} file @param {Report} report */
function ask(file, report) {
  const { holds, replaces, left_out: leftOut, problems } = report;
  const end = () => dialog.close();
  const go = holdButton(onShow.show.go, onShow.show.goWords, () => void bring());
  const bring = async () => {
    go.disabled = true;
    const lifted = released();
    const told = await call('POST', '/api/show/import', file).then(() => onShow.show.done(named(holds) || file.name), (error) => String(error.message));
    await lifted;
    end();
    say(told);
  };
  const dialog = h('dialog', { 'aria-label': onShow.show.bring }, h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => event.preventDefault() },
    h('h2', null, named(holds) || file.name),
    h('p', null, onShow.show.holds(holds.fixtures, holds.looks, holds.faults)),
    h('p', null, onShow.show.replaces(replaces.fixtures, replaces.looks, replaces.faults)),
    leftOut > 0 && h('p', null, onShow.show.leftOut(leftOut)),
    ...problems.map((problem) => h('p', { className: 'why', role: 'alert' }, said(problem))),
    h('div', { className: 'ends' }, h('button', { type: 'button', onclick: end }, words.keypad.notNow)),
    !problems.length && go));
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}
