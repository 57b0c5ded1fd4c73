// @ts-check
/** What the lead sees: the whole rig on its lines, who has what, what is wrong, and one fixture's sheet beside it. */
import { h, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { command } from '../state/asked.js';
import { alertsHere, nameOf, rig } from '../state/rig.js';
import { percent } from '../state/values.js';
import { onBoard } from '../words/board.js';
import { said, words } from '../words/words.js';
import { makeSide } from './board-side.js';
import { Tags } from './board-tags.js';
import * as fixtureScreen from './fixture.js';

/** @typedef {import('../app.js').Stage} Stage */
/** @typedef {import('../state/rig.js').Fixture} Fixture */

const WORDS = onBoard.board;

/** @type {[string, (it: Fixture) => boolean][]} */
const COUNTS = [
  [WORDS.lit, (it) => it.level > 0],
  [WORDS.inHand, (it) => it.holder !== null],
  [WORDS.faults, (it) => it.fault !== null],
  [WORDS.handsOn, (it) => it.hands_on.length > 0],
];

/** @param {Stage} stage */
export function show({ main, args, signal }) {
  const panel = makePanel(signal, (id) => {
    tags.shown = id;
    history.replaceState(null, '', id ? `#board/${id}` : '#board');
  });
  const tags = new Tags(signal, (id, byKey) => panel.open(id, byKey));
  const alerts = makeAlerts(signal);
  const side = makeSide(signal, (id) => {
    tags.reveal(id, false);
    panel.open(id, false);
  }, alerts.trouble);
  panel.closed = (id) => tags.reveal(id);
  panel.turned = (id) => tags.reveal(id, false);
  const empty = h('p', { className: 'empty' });
  const draw = () => {
    empty.hidden = rig.list.value.length > 0;
    write(empty, rig.link.value === 'live' ? WORDS.empty : WORDS.looking);
  };
  rig.list.read(draw, signal);
  rig.link.read(draw, signal);
  // Right after it was opened the keys are nowhere yet.
  main.addEventListener('keydown', (event) => event.target === main && tags.key(event), { signal });
  main.append(makeSlate(signal, tags), alerts.node, h('div', { className: 'board' }, h('div', { className: 'hanging' }, empty, tags.node), side, panel.node));
  if (args[0] && rig.fixtures.has(args[0])) {
    panel.open(args[0], false);
    tags.reveal(args[0], false);
  } else if (args[0]) {
    // Opened by its address: the rig comes a moment later.
    const wait = new AbortController();
    signal.addEventListener('abort', () => wait.abort());
    rig.list.read(() => {
      if (!rig.fixtures.has(args[0] ?? '')) return;
      wait.abort();
      panel.open(args[0] ?? '', false);
    }, wait.signal);
  }
}

/** @param {AbortSignal} signal @param {Tags} tags */
function makeSlate(signal, tags) {
  const title = h('h1', null);
  rig.show.read(({ name, venue }) => write(title, [name, venue].filter(Boolean).join(', ') || WORDS.title), signal);
  const total = h('span', { className: 'total' });
  const buttons = COUNTS.map(([words, fits]) => {
    const count = h('b', null);
    const button = h('button', { type: 'button', onclick: () => tags.next(fits) }, count, ' ', words);
    return { button, count, fits };
  });
  const draw = () => {
    write(total, words.count.fixtures(rig.list.value.length));
    for (const { button, count, fits } of buttons) {
      let sum = 0;
      for (const { value } of rig.fixtures.values()) sum += Number(fits(value));
      write(count, String(sum));
      button.disabled = !sum;
    }
  };
  const timer = setInterval(draw, 500); // levels change without end: nobody reads a count faster
  signal.addEventListener('abort', () => clearInterval(timer));
  rig.list.read(draw, signal);
  rig.holds.read(draw, signal);
  return h('header', { className: 'slate' }, title, total, h('div', { className: 'counts', role: 'group', 'aria-label': WORDS.counts }, ...buttons.map(({ button }) => button)), h('p', { className: 'hint' }, WORDS.hint));
}

/** @param {AbortSignal} signal */
function makeAlerts(signal) {
  const node = h('ul', { className: 'alerts', 'aria-label': WORDS.alerts });
  let troubled = false;
  const draw = () => {
    const master = rig.master.value;
    const lines = [...alertsHere().map(said), rig.blackout.value && WORDS.blackout, master < 1 && WORDS.master(percent(master)), troubled && WORDS.trouble].filter(Boolean);
    if (lines.join('\n') === [...node.children].map((line) => line.textContent).join('\n')) return;
    node.replaceChildren(...lines.map((words) => h('li', null, words)));
  };
  for (const cell of [rig.alerts, rig.blackout, rig.master]) cell.read(draw, signal);
  /** @param {boolean} now */
  const trouble = (now) => {
    troubled = now;
    draw();
  };
  return { node, trouble };
}

/** @param {AbortSignal} signal @param {(id: string) => void} tell which fixture it shows; "" when it is closed */
function makePanel(signal, tell) {
  let end = new AbortController();
  let shown = '';
  const host = h('div', { className: 'sheet-host', 'data-screen': 'fixture' });
  const pages = h('nav', { className: 'sheet-pages', 'aria-label': WORDS.pages });
  const letGo = holdButton('', '', () => void command({ do: 'let_go', fixture: shown }));
  const close = h('button', { type: 'button', className: 'close', 'aria-label': WORDS.closeLong, onclick: () => panel.close() }, WORDS.close);
  const node = h('section', { className: 'panel', 'aria-label': WORDS.sheet, tabIndex: -1, hidden: true }, h('div', { className: 'top' }, letGo, close), host, pages);
  const escape = (/** @type {KeyboardEvent} */ event) => {
    const elsewhere = event.target instanceof Element && event.target.closest('dialog, fc-hold, #say'); // they have their own use for it
    if (event.key === 'Escape' && shown && !elsewhere) panel.close();
  };
  document.addEventListener('keydown', escape, { signal });
  signal.addEventListener('abort', () => end.abort());
  const panel = {
    node,
    closed: (/** @type {string} */ _id) => {},
    turned: (/** @type {string} */ _id) => {},
    /** @param {string} id @param {boolean} focus move the keys there, too */
    open(id, focus) {
      end.abort();
      const now = (end = new AbortController());
      shown = id;
      host.replaceChildren();
      node.hidden = false;
      fixtureScreen.show({ main: host, shelf: pages, args: [id], signal: now.signal, turn: (to) => {
        panel.open(to, node.contains(document.activeElement));
        panel.turned(to);
      } });
      rig.fixtures.get(id)?.read((it) => {
        const theirs = it.holder !== null && it.holder !== rig.you.value.id;
        letGo.hidden = !theirs || rig.you.value.role !== 'lead';
        letGo.setAttribute('label', WORDS.letGo(nameOf(it.holder), it.channel));
        letGo.setAttribute('words', WORDS.letGoWords(nameOf(it.holder)));
      }, now.signal);
      tell(id);
      if (focus) node.focus({ preventScroll: true });
    },
    close() {
      end.abort();
      host.replaceChildren();
      node.hidden = true;
      const was = shown;
      shown = '';
      tell('');
      if (was && rig.fixtures.has(was)) panel.closed(was);
    },
  };
  return panel;
}
