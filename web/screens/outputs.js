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
/** @typedef {{sacn: number, artnet: boolean, pause_ms: number | null}} Sync  pause_ms null: as the laptop was started */
/** @typedef {{interfaces: {address: string, name: string, main: boolean}[], priority: number, offset: number, usual: Output[], sync: Sync, usual_pause_ms: number, findings: Sentence[], universes: UniverseOutputs[]}} Outputs */

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
    sync.draw(told);
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

/** For the whole show. @param {() => Promise<void>} again */
function makeSync(again) {
  const lead = rig.you.value.role === 'lead';
  /** @type {Sync} */
  let now = { sacn: 0, artnet: false, pause_ms: null };
  const told = h('p', null);
  const why = h('p', { className: 'why', role: 'alert' });
  const put = async (/** @type {Sync} */ wanted) => {
    const done = await call('PUT', '/api/outputs/sync', wanted).catch((/** @type {Error} */ error) => void write(why, error.message));
    if (done) write(why, '');
    await again();
  };
  const universe = makeEntry('sync-universe', 'numeric', WORDS.syncUniverse, '', (typed) => (/^\d*$/.test(typed) ? put({ ...now, sacn: Number(typed) }) : write(why, WORDS.whole)));
  const pause = makeEntry('sync-pause', 'decimal', WORDS.pause, WORDS.pauseAbout, (typed) => {
    const plain = typed.replace(',', '.');
    if (/^(\d+\.?\d*|\.\d+)?$/.test(plain)) void put({ ...now, pause_ms: plain ? Number(plain) : null });
    else write(why, WORDS.pauseWrong);
  });
  const artnet = h('button', { type: 'button', onclick: once(() => void put({ ...now, artnet: !now.artnet })) }, WORDS.artSync);
  return {
    node: h('div', { className: 'syncing' }, told, ...(lead ? [universe.node, h('div', { className: 'choice' }, artnet), pause.node, why] : [])),
    /** @param {Outputs} all */
    draw({ sync, usual_pause_ms: usual }) {
      now = sync;
      universe.show(sync.sacn ? String(sync.sacn) : '', WORDS.none);
      pause.show(written(sync.pause_ms), WORDS.asHere(written(usual)));
      write(told, WORDS.syncIs(sync.sacn, sync.artnet));
      mark(artnet, 'aria-pressed', String(sync.artnet));
    },
  };
}

/** @param {number | null} ms */
const written = (ms) => (ms === null ? '' : number(ms, String(ms).split('.')[1]?.length ?? 0));

/**
 * A field with a press that sets it. What the laptop says is shown in it until somebody types.
 * @param {string} id @param {'numeric' | 'decimal'} inputMode @param {string} label @param {string} about @param {(typed: string) => void} set
 */
function makeEntry(id, inputMode, label, about, set) {
  const field = h('input', { id, inputMode, autocomplete: 'off', maxLength: 5, 'aria-describedby': about ? `${id}-about` : null });
  const node = h('form', { noValidate: true, onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    set(field.value.trim());
  } }, h('label', { for: id }, label), h('div', { className: 'entry' }, field, h('button', { type: 'submit', className: 'main' }, WORDS.set)), about && h('p', { id: `${id}-about`, className: 'hint' }, about));
  /** @type {string | undefined} */
  let known;
  return {
    node,
    /** @param {string} value @param {string} otherwise what holds where it is empty */
    show(value, otherwise) {
      field.placeholder = otherwise;
      if (document.activeElement !== field && known !== value) field.value = known = value;
    },
  };
}
