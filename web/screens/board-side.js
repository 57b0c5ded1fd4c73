// @ts-check
/** Beside the lines: who is here and with what, which universes leave, which nodes answer. */
import { h, mark, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { aloftAt, fixture, namesOf, rig } from '../state/rig.js';
import { onBoard } from '../words/board.js';
import { late } from '../words/late.js';
import { onNetwork } from '../words/network.js';
import { language, number, words } from '../words/words.js';
import { downButton } from './aloft.js';
import { initialsOf } from './board-tags.js';
import { askPerson, mayChange } from './people.js';

const WORDS = onBoard.beside;

const EACH_MS = 2000;
const NODES_EACH = 3; // rounds: a node is asked every 2.5 to 3 s
const MOST_CHANNELS = 10;

/** @param {AbortSignal} signal @param {(id: string) => void} open @param {(trouble: boolean) => void} tell whether the server says it is troubled */
export function makeSide(signal, open, tell) {
  return h('aside', { className: 'beside', 'aria-label': WORDS.label, tabIndex: 0 }, makePeople(signal, open), ...makeOutput(signal, tell));
}

/** @param {AbortSignal} signal @param {(id: string) => void} open */
function makePeople(signal, open) {
  const list = h('ul', { className: 'crew' });
  const others = h('p', { className: 'hint' });
  /** @type {Map<string, ReturnType<typeof makePerson>>} */
  const made = new Map();
  const draw = () => {
    /** @type {Map<string, string[]>} */
    const holds = new Map();
    for (const id of rig.list.value) {
      const { holder } = fixture(id);
      if (holder) holds.set(holder, [...(holds.get(holder) ?? []), id]);
    }
    const all = Object.entries(rig.people.value);
    const initials = initialsOf(all.map(([id, { name }]) => [id, name]));
    const shown = all.filter(([id, person]) => person.here || holds.has(id) || person.aloft != null);
    shown.sort(([, one], [, two]) => Number(two.here) - Number(one.here) || one.name.localeCompare(two.name));
    for (const [id, { node }] of made) {
      if (shown.some(([one]) => one === id)) continue;
      node.remove();
      made.delete(id);
    }
    shown.forEach(([id, person], at) => {
      const one = made.get(id) ?? makePerson(open);
      made.set(id, one);
      one.draw(id, person, initials.get(id) ?? '?', holds.get(id) ?? []);
      // Moved only when it stands elsewhere: a button that somebody holds stays under the finger.
      if (list.children[at] !== one.node) list.insertBefore(one.node, list.children[at] ?? null);
    });
    const rest = all.length - shown.length;
    write(others, rest ? WORDS.others(rest) : '');
  };
  for (const cell of [rig.people, rig.holds, rig.list]) cell.read(draw, signal);
  return h('section', { 'aria-labelledby': 'crew' }, h('h2', { id: 'crew' }, WORDS.people), list, others, makeCall(signal));
}

/** Dark is called where one sees who is aloft. @param {AbortSignal} signal */
function makeCall(signal) {
  const node = holdButton(words.app.callDark, '', () => void command({ do: 'going_dark' }));
  const draw = () => {
    const up = aloftAt();
    node.hidden = rig.you.value.role !== 'lead' || rig.blackout.value;
    node.disabled = rig.dark.value?.refused === null;
    node.setAttribute('words', late.care.aloftDark(up.length ? words.marks.aloft(namesOf(up), up.length) : late.care.nobodyUp));
  };
  for (const cell of [rig.people, rig.you, rig.blackout, rig.dark]) cell.read(draw, signal);
  return node;
}

/** @param {(id: string) => void} open */
function makePerson(open) {
  const initials = h('span', { className: 'who', 'aria-hidden': 'true' });
  const [name, role, here, signal, holds] = [h('b', null), h('small', null), h('span', { className: 'here' }), h('span', { className: 'signal' }), h('p', { className: 'holding' })];
  let at = '';
  const where = h('button', { type: 'button', className: 'where', onclick: () => open(at) });
  let who = '';
  const letGo = holdButton('', '', () => void command({ do: 'let_go', fixture: '*', of: who }));
  const more = h('button', { type: 'button', className: 'more', onclick: () => askPerson(who) }, WORDS.more);
  const aloft = h('b', { className: 'aloft-mark' });
  const down = downButton(() => who);
  const node = h('li', null, initials, h('div', null, h('p', null, name, ' ', role), aloft, where, h('p', null, here, signal), holds, down.node, letGo, more));
  return {
    node,
    /** @param {string} id @param {import('../net/contract.js').Person} person @param {string} letters @param {string[]} held */
    draw(id, person, letters, held) {
      const me = id === rig.you.value.id;
      mark(node, 'data-drive', me ? 'hand' : held.length ? 'other' : 'home');
      mark(node, 'data-away', !person.here);
      aloft.hidden = person.aloft == null;
      write(aloft, person.aloft == null ? '' : late.care.at(person.aloft));
      down.draw(person, me);
      write(initials, letters);
      write(name, me ? WORDS.you(person.name) : person.name);
      write(role, late.rig.roles[person.role] ?? person.role);
      const unit = person.at ? rig.fixtures.get(person.at)?.value : undefined;
      at = unit && person.at ? person.at : '';
      write(where, unit ? WORDS.at(unit.position, unit.channel) : WORDS.nowhere);
      where.disabled = !unit;
      const since = person.gone ? new Date(person.gone * 1000).toLocaleTimeString(language, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }) : '';
      write(here, person.here ? WORDS.here : WORDS.away(since));
      signal.hidden = !person.here;
      write(signal, person.rtt_ms === null || person.rtt_ms === undefined ? WORDS.noSignal : WORDS.signal(person.rtt_ms));
      mark(signal, 'data-slow', (person.rtt_ms ?? 0) >= 250);
      const channels = held.map((one) => fixture(one).channel).sort((a, b) => a - b);
      const few = channels.slice(0, MOST_CHANNELS).join(', ') + (channels.length > MOST_CHANNELS ? ' …' : '');
      write(holds, channels.length ? WORDS.holds(few) : WORDS.holdsNothing);
      who = id;
      more.hidden = !mayChange(id);
      mark(more, 'aria-label', WORDS.moreOf(person.name));
      letGo.hidden = person.here || !held.length || rig.you.value.role !== 'lead';
      letGo.setAttribute('label', WORDS.letGo(person.name, held.length));
      letGo.setAttribute('words', WORDS.letGoWords(person.name));
    },
  };
}

/** @param {AbortSignal} signal @param {(trouble: boolean) => void} tell */
function makeOutput(signal, tell) {
  const rows = h('tbody', null);
  const nodes = h('ul', { className: 'nodes' });
  const heard = h('ul', { className: 'nodes' });
  const others = h('section', { 'aria-labelledby': 'heard', hidden: true }, h('h2', { id: 'heard' }, WORDS.heard), heard);
  let round = 0;
  const ask = async () => {
    if (rig.link.value !== 'live' || document.visibilityState === 'hidden') return;
    const wanted = round++ % NODES_EACH === 0;
    const [health, sources, found] = await Promise.all([call('GET', '/api/health'), call('GET', '/api/sources'), wanted ? call('GET', '/api/nodes') : null]).catch(() => [null, null, null]);
    if (signal.aborted || !health) return;
    tell(health.status !== 'ok');
    drawUniverses(rows, health.universes);
    drawHeard(heard, sources.universes);
    others.hidden = !heard.children.length;
    if (found) drawNodes(nodes, found.nodes);
  };
  const timer = setInterval(() => void ask(), EACH_MS);
  signal.addEventListener('abort', () => clearInterval(timer));
  rig.link.read((link) => link === 'live' && void ask(), signal);
  const head = h('thead', null, h('tr', null, ...[WORDS.universe, WORDS.frames, WORDS.slots].map((words) => h('th', { scope: 'col' }, words))));
  return [
    h('section', { 'aria-labelledby': 'output' }, h('h2', { id: 'output' }, WORDS.universes), h('table', null, head, rows), h('p', { className: 'hint' }, WORDS.keepAlive)),
    others,
    h('section', { 'aria-labelledby': 'found' }, h('h2', { id: 'found' }, WORDS.nodes), nodes),
  ];
}

/** @param {HTMLElement} rows @param {{universe: number, frames_per_s: number, slots_in_use: number}[]} universes */
function drawUniverses(rows, universes) {
  while (rows.children.length > universes.length) rows.lastElementChild?.remove();
  universes.forEach(({ universe, frames_per_s: frames, slots_in_use: slots }, at) => {
    const row = rows.children[at] ?? rows.appendChild(h('tr', null, h('th', { scope: 'row' }), h('td', null), h('td', null)));
    [String(universe), number(frames, 1), String(slots)].forEach((words, column) => row.children[column] && write(row.children[column], words));
    mark(row, 'data-still', frames <= 0);
  });
}

/** @typedef {{name: string, id: string, address: string, priority: number | null, state: string, wins: string | null}} Source */

/** Each source once, with all its universes. @param {HTMLElement} list @param {{universe: number, sources: Source[]}[]} universes */
function drawHeard(list, universes) {
  /** @type {Map<string, {source: Source, on: number[]}>} */
  const lines = new Map();
  for (const { universe, sources } of universes)
    for (const source of sources) {
      const key = JSON.stringify([source.id, source.priority, source.state, source.wins]);
      lines.set(key, { source, on: [...new Set([...(lines.get(key)?.on ?? []), universe])] });
    }
  list.replaceChildren(...[...lines.values()].map(({ source, on }) => h('li', null, h('b', null, late.slots.source(source.name, source.priority)), h('small', null, `${source.address} · ${WORDS.onUniverses(on)}`), h('span', null, WORDS.heardAs(source.state, source.wins)))));
}

/** @typedef {{name: string, host: string, lost: boolean, seen_s: number, ports: {is_output: boolean, port_address: number, merges: boolean}[]}} Node */

/** @param {HTMLElement} list @param {Node[]} found */
function drawNodes(list, found) {
  const lines = found.map(({ name, host, lost, ports, seen_s: seen }) => {
    const outputs = ports.filter((port) => port.is_output);
    const numbers = (/** @type {Node['ports']} */ of) => of.map((port) => port.port_address);
    const words = `${WORDS.serves(numbers(outputs))}${WORDS.merges(numbers(outputs.filter((port) => port.merges)))}`;
    return h('li', { 'data-silent': lost ? '' : null }, h('b', null, name || host), h('small', null, `${host} · ${words}`), h('span', null, lost ? onNetwork.nodes.lost(seen) : WORDS.answers));
  });
  list.replaceChildren(...(lines.length ? lines : [h('li', { className: 'hint' }, WORDS.noNodes)]));
}
