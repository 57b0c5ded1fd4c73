// @ts-check
/** The Art-Net nodes that answer, and those that did today: what they serve, and what is to be said of them. */
import { h, mark, once, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { rig } from '../state/rig.js';
import { onNetwork } from '../words/network.js';
import { fetchLaptopWords, said } from '../words/words.js';

/** @typedef {{bind_index: number, number: number, is_output: boolean, port_address: number, has_data: boolean, merges: boolean, latest: boolean, has_fault: boolean, by_sacn: boolean, universe: number | null}} Port */
/** @typedef {{host: string, mac: string, name: string, long_name: string, says_ip: string, firmware: string, report: string, failsafe: keyof typeof onNetwork.nodes.failsafe | null, seen_s: number, lost: boolean, ports: Port[]}} Device */
/** @typedef {{hosts: string[], alert: boolean, why: string, said: import('../net/contract.js').Said}} Finding */

const WORDS = onNetwork.nodes;
const EACH_MS = 2500; // nodes are asked as often
const MARKS = /** @type {const} */ (['merges', 'latest', 'has_fault', 'by_sacn']);

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const asked = h('p', { className: 'hint' });
  const findings = h('ul', { className: 'told', 'aria-label': WORDS.findings });
  const list = h('ul', { className: 'devices', 'aria-label': WORDS.title });
  main.append(h('h1', null, WORDS.title), asked, findings, list, h('p', { className: 'hint' }, WORDS.sacn));

  const none = h('li', { className: 'empty' }, WORDS.none);
  /** Which are unfolded: they stay so when a card is drawn anew. */
  const open = new Set(/** @type {string[]} */ ([]));
  /** @type {Map<string, {node: HTMLElement, report: HTMLElement, told: string}>} */
  const cards = new Map();
  let found = '';
  const look = async () => {
    if (rig.link.value !== 'live' || document.visibilityState === 'hidden') return;
    /** @type {{asked: boolean, nodes: Device[], findings: Finding[]} | void} */
    const told = await call('GET', '/api/nodes').catch((/** @type {Error} */ error) => say(error.message));
    await fetchLaptopWords();
    if (signal.aborted || !told) return;
    write(asked, told.asked ? WORDS.about : WORDS.notAsked);
    const now = JSON.stringify([told.findings, told.nodes.length > 0]);
    if (now !== found) findings.replaceChildren(...(told.findings.length ? told.findings.map((one) => h('li', { className: one.alert ? 'failed' : '' }, said(one))) : told.nodes.length ? [h('li', null, WORDS.well)] : []));
    found = now;
    drawCards(told.nodes);
  };
  /** What somebody is about to press stays where it is. @param {Device[]} nodes */
  const drawCards = (nodes) => {
    const there = new Set(nodes.map(keyOf));
    for (const [key, { node }] of cards) {
      if (there.has(key)) continue;
      node.remove();
      cards.delete(key);
    }
    if (nodes.length) none.remove();
    else list.append(none);
    nodes.forEach((one, at) => {
      const before = cards.get(keyOf(one));
      // Many nodes count their answers in the report: it is another one each time.
      const told = JSON.stringify({ ...one, seen_s: one.lost && WORDS.lost(one.seen_s), report: one.report !== '' });
      const now = before?.told === told ? before : { ...card(one, open, look), told };
      if (before && now !== before) before.node.replaceWith(now.node);
      cards.set(keyOf(one), now);
      write(now.report, one.report);
      if (list.children[at] !== now.node) list.insertBefore(now.node, list.children[at] ?? null);
    });
  };
  const timer = setInterval(() => void look(), EACH_MS);
  signal.addEventListener('abort', () => clearInterval(timer));
  rig.link.read((link) => link === 'live' && void look(), signal);
}

/** A Port-Address as most nodes ask for it: net, sub-net, universe. @param {number} port */
export const parted = (port) => `${port} (${port >> 8}:${(port >> 4) & 15}:${port & 15})`;

/** @param {Device} one */
const keyOf = (one) => `${one.host} ${one.mac}`;

/** @param {Device} one @param {Set<string>} open @param {() => Promise<void>} again */
function card(one, open, again) {
  const key = keyOf(one);
  const report = h('dd', null);
  const state = h('span', { className: 'state' }, one.lost ? WORDS.lost(one.seen_s) : WORDS.answers);
  const ports = h('ul', { className: 'ports' }, ...one.ports.map(line));
  const facts = /** @type {const} */ (['long_name', 'mac', 'firmware', 'report']).filter((name) => one[name]).map((name) => [WORDS.moreOf[name], one[name]]);
  if (one.says_ip !== one.host && one.says_ip !== '0.0.0.0') facts.unshift([WORDS.moreOf.says_ip, one.says_ip]);
  const more = h('details', { open: open.has(key) }, h('summary', null, WORDS.more), h('dl', null, ...facts.flatMap(([name, value]) => [h('dt', null, name ?? ''), name === WORDS.moreOf.report ? report : h('dd', null, value ?? '')])));
  more.addEventListener('toggle', () => (more.open ? open.add(key) : open.delete(key)));
  const node = h('li', null,
    h('div', { className: 'head' }, h('h2', null, one.name || WORDS.noName), state, h('span', { className: 'host' }, one.host)),
    one.ports.length ? ports : h('p', { className: 'hint' }, WORDS.noPorts),
    one.failsafe && h('p', { className: 'hint' }, WORDS.failsafe[one.failsafe]),
    more,
    one.lost && rig.you.value.role === 'lead' && h('button', { type: 'button', onclick: once(() => void forget(one.host, again)) }, WORDS.forget));
  mark(node, 'data-lost', one.lost ? '' : null);
  return { node, report };
}

/** @param {Port} port */
function line(port) {
  const marks = MARKS.filter((name) => port[name]).map((name) => h('b', { className: 'mark', 'data-mark': name }, WORDS.marks[name]));
  return h('li', null, h('b', null, WORDS.port(port.is_output, port.number)), h('span', null, WORDS.universe(port.universe)), h('small', null, WORDS.at(parted(port.port_address))), ...marks);
}

/** @param {string} host @param {() => Promise<void>} again */
async function forget(host, again) {
  await call('DELETE', `/api/nodes/${encodeURIComponent(host)}`).catch((/** @type {Error} */ error) => say(error.message));
  await again();
}
