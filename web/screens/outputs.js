// @ts-check
/** Where each universe goes and how often it leaves; for the lead, to be changed while all goes on. */
import { h, mark, once, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { rig } from '../state/rig.js';
import { onNetwork } from '../words/network.js';
import { fetchLaptopWords, number, said } from '../words/words.js';
import { makeEditor } from './outputs-edit.js';

/** @typedef {import('../net/contract.js').Said} Said */
/** @typedef {{why: string, said: Said}} Sentence */
/** @typedef {{by: 'sacn' | 'artnet', to: 'multicast' | 'multicast6' | 'host' | 'nodes' | 'broadcast', host: string, port: number | null, name: string, priority: number | null, number: number | null, interface: string, most_hz: number}} Output */
/** @typedef {Output & Sentence & {on_wire: number | null}} OutputTold */
/** @typedef {{universe: number, own: boolean, steady: boolean, own_steady: boolean | null, frames_per_s: number, outputs: OutputTold[], findings: Sentence[]}} UniverseOutputs */
/** @typedef {{interfaces: {address: string, name: string, main: boolean}[], priority: number, offset: number, usual: Output[], sync: {sacn: number, artnet: boolean}, findings: Sentence[], universes: UniverseOutputs[]}} Outputs */

const WORDS = onNetwork.outputs;
const EACH_MS = 2000;

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const by = h('p', { className: 'hint' });
  const findings = h('ul', { className: 'told', 'aria-label': onNetwork.nodes.findings });
  const list = h('ul', { className: 'routes', 'aria-label': WORDS.title });
  const sync = makeSync(() => look());
  main.append(h('h1', null, WORDS.title), by, list, h('section', { className: 'sync', 'aria-labelledby': 'sync' }, h('h2', { id: 'sync' }, WORDS.sync), h('p', { className: 'hint' }, WORDS.syncAbout), findings, sync.node), h('a', { className: 'button', href: '#nodes' }, onNetwork.nodes.title));

  /** @type {Map<number, ReturnType<typeof makeCard>>} */
  const cards = new Map();
  const look = async () => {
    if (rig.link.value !== 'live' || document.visibilityState === 'hidden') return;
    /** @type {Outputs | void} */
    const told = await call('GET', '/api/outputs').catch((/** @type {Error} */ error) => say(error.message));
    await fetchLaptopWords();
    if (signal.aborted || !told) return;
    const first = told.interfaces.find((each) => each.main);
    write(by, first ? WORDS.by(first.address, first.name) : WORDS.byAny);
    drawTold(findings, told.findings);
    sync.draw(told.sync);
    const there = new Set(told.universes.map((one) => one.universe));
    for (const [universe, card] of cards) {
      if (there.has(universe) || card.isOpen()) continue;
      card.node.remove();
      cards.delete(universe);
    }
    told.universes.forEach((one, at) => {
      const card = cards.get(one.universe) ?? makeCard(() => look());
      cards.set(one.universe, card);
      card.draw(one, told);
      if (list.children[at] !== card.node) list.insertBefore(card.node, list.children[at] ?? null);
    });
  };
  const timer = setInterval(() => void look(), EACH_MS);
  signal.addEventListener('abort', () => clearInterval(timer));
  rig.link.read((link) => link === 'live' && void look(), signal);
}

/** @param {HTMLElement} list @param {Sentence[]} told */
function drawTold(list, told) {
  list.replaceChildren(...told.map((one) => h('li', null, said(one))));
  list.hidden = !told.length;
}

/** @param {() => Promise<void>} again */
function makeCard(again) {
  const [title, rate, kind] = [h('h2', null), h('span', { className: 'rate' }), h('span', { className: 'kind' })];
  const lines = h('ul', { className: 'lines' });
  const findings = h('ul', { className: 'told' });
  const lead = rig.you.value.role === 'lead';
  const change = h('button', { type: 'button', onclick: once(() => open()) }, WORDS.change);
  const place = h('div', { className: 'place' });
  const node = h('li', null, h('div', { className: 'head' }, title, rate, kind), lines, findings, lead && change, place);
  /** @type {UniverseOutputs | null} */
  let now = null;
  /** @type {Outputs | null} */
  let all = null;
  const close = () => {
    place.replaceChildren();
    mark(node, 'data-open', null);
    change.hidden = false;
    change.focus();
  };
  const open = () => {
    if (!now || !all) return;
    mark(node, 'data-open', '');
    change.hidden = true;
    const editor = makeEditor(now, all, () => (close(), void again()), close);
    place.replaceChildren(editor);
    node.scrollIntoView({ block: 'start' });
  };
  return {
    node,
    isOpen: () => place.childElementCount > 0,
    /** @param {UniverseOutputs} one @param {Outputs} whole */
    draw(one, whole) {
      [now, all] = [one, whole];
      write(title, WORDS.universe(one.universe));
      write(rate, WORDS.rate(number(one.frames_per_s, 1)));
      write(kind, [one.own ? WORDS.own : WORDS.usual, one.steady ? WORDS.steady : ''].filter(Boolean).join(' · '));
      mark(change, 'aria-label', WORDS.changeOf(one.universe));
      lines.replaceChildren(...one.outputs.map((output) => h('li', null, said(output))));
      drawTold(findings, one.findings);
    },
  };
}

/** For the whole show: in the state of the laptop until it is pressed. @param {() => Promise<void>} again */
function makeSync(again) {
  const lead = rig.you.value.role === 'lead';
  let now = { sacn: 0, artnet: false };
  const told = h('p', null);
  const why = h('p', { className: 'why', role: 'alert' });
  const field = h('input', { id: 'sync-universe', inputMode: 'numeric', autocomplete: 'off', maxLength: 5, placeholder: WORDS.none });
  const artnet = h('button', { type: 'button', onclick: once(() => void put({ ...now, artnet: !now.artnet })) }, WORDS.artSync);
  const put = async (/** @type {typeof now} */ wanted) => {
    const done = await call('PUT', '/api/outputs/sync', wanted).catch((/** @type {Error} */ error) => void write(why, error.message));
    if (done) write(why, '');
    await again();
  };
  const form = h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    const typed = field.value.trim();
    if (/^\d*$/.test(typed)) void put({ ...now, sacn: Number(typed) });
    else write(why, WORDS.whole);
  } }, h('label', { for: 'sync-universe' }, WORDS.syncUniverse), h('div', { className: 'entry' }, field, h('button', { type: 'submit', className: 'main' }, WORDS.set)), h('div', { className: 'choice' }, artnet), why);
  return {
    node: h('div', { className: 'syncing' }, told, lead && form),
    /** @param {typeof now} sync */
    draw(sync) {
      if (document.activeElement !== field && now.sacn !== sync.sacn) field.value = sync.sacn ? String(sync.sacn) : '';
      now = sync;
      write(told, WORDS.syncIs(sync.sacn, sync.artnet));
      mark(artnet, 'aria-pressed', String(sync.artnet));
    },
  };
}
