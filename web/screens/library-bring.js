// @ts-check
/** Taking profile files in: chosen, or dropped anywhere on the page; how far it is, and what came of each. */
import { h, mark, write } from '../elements/dom.js';
import { filesOf } from '../net/bring.js';
import { begin, bringing, report, stop } from '../state/bringing.js';
import { onLibrary } from '../words/library.js';

const WORDS = onLibrary.bring;
const SHOWN = 200; // files with something to say; all of them are in the report

/** @param {HTMLElement} main where files may be dropped @param {AbortSignal} signal */
export function makeBring(main, signal) {
  const files = chooser({ multiple: true, accept: '.gdtf,.json,.zip', 'aria-label': WORDS.files });
  const folder = chooser({ webkitdirectory: true, 'aria-label': WORDS.folder });
  const choose = h('div', { className: 'choice' },
    h('button', { type: 'button', onclick: () => files.click() }, WORDS.files),
    h('button', { type: 'button', onclick: () => folder.click() }, WORDS.folder));
  const bar = h('progress', { 'aria-label': WORDS.progress });
  const far = h('p', { role: 'status' });
  const cancel = h('button', { type: 'button', onclick: stop }, WORDS.stop);
  const told = h('ul', { className: 'told' });
  const end = h('p', { className: 'why', role: 'alert' });
  const whole = h('button', { type: 'button', onclick: () => save() }, WORDS.report);
  const going = h('div', { className: 'going', hidden: true }, far, bar, cancel, end, told, whole);
  let shown = /** @type {unknown} */ (null);
  let done = 0;
  bringing.read((now) => {
    going.hidden = !now;
    if (!now) return;
    if (shown !== now) {
      told.replaceChildren();
      [shown, done] = [now, 0];
    }
    for (const came of now.came.slice(done)) if ((came.problems.length || !came.key) && told.childElementCount < SHOWN) told.append(row(came));
    done = now.came.length;
    const failed = now.came.filter(({ key }) => !key).length;
    const parted = now.came.filter(({ key, problems }) => key && problems.length).length;
    write(far, [now.isGoing ? WORDS.far(done, now.total) : '', WORDS.came(now.keys.size, parted, failed), now.others.length ? WORDS.others(now.others.length) : ''].filter(Boolean).join(' '));
    bar.max = Math.max(now.total, 1);
    bar.value = done;
    for (const node of [bar, cancel]) node.hidden = !now.isGoing;
    for (const button of choose.querySelectorAll('button')) button.disabled = now.isGoing;
    whole.hidden = now.isGoing || !(failed || parted || now.others.length);
    write(end, now.end);
  }, signal);

  // A file that misses would else be opened by the browser in place of this page.
  let over = 0;
  const drop = (/** @type {boolean} */ on) => mark(main, 'data-drop', on);
  const isFiles = (/** @type {DragEvent} */ event) => event.dataTransfer?.types.includes('Files') ?? false;
  document.addEventListener('dragover', (event) => {
    if (!isFiles(event)) return;
    event.preventDefault();
    drop(true);
    clearTimeout(over);
    over = window.setTimeout(() => drop(false), 400); // it is said again and again while it lasts
  }, { signal });
  document.addEventListener('drop', (event) => {
    if (!isFiles(event) || !event.dataTransfer) return;
    event.preventDefault();
    drop(false);
    void filesOf(event.dataTransfer).then(begin);
  }, { signal });
  signal.addEventListener('abort', () => drop(false));
  return h('section', { className: 'bring', 'aria-labelledby': 'bring' }, h('h2', { id: 'bring' }, WORDS.title), choose, files, folder, h('p', { className: 'hint' }, WORDS.hint), going);
}

/** @param {Record<string, unknown>} props */
function chooser(props) {
  const input = h('input', { type: 'file', hidden: true, ...props });
  input.addEventListener('change', () => {
    const chosen = [...(input.files ?? [])];
    input.value = ''; // or the same could not be chosen a second time
    void begin(chosen);
  });
  return input;
}

/** @param {import('../net/bring.js').Came} came */
function row({ name, key, problems }) {
  const why = problems.map(({ where, why: what }) => h('li', null, where && h('b', null, `${where} `), what));
  const [first] = problems;
  if (!key) return h('li', { className: 'failed' }, h('b', null, name), h('span', null, first ? [first.where, first.why].filter(Boolean).join(': ') : ''), problems.length > 1 && h('details', null, h('summary', null, WORDS.all(problems.length)), h('ul', null, ...why)));
  return h('li', null, h('a', { href: `#library/${encodeURIComponent(key)}` }, name), h('details', null, h('summary', null, WORDS.left(problems.length)), h('ul', null, ...why)));
}

function save() {
  if (!bringing.value) return;
  const href = URL.createObjectURL(new Blob([report(bringing.value)], { type: 'text/plain;charset=utf-8' }));
  h('a', { href, download: 'profiles.txt' }).click();
  setTimeout(() => URL.revokeObjectURL(href), 10_000);
}
