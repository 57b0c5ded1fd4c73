// @ts-check
/** Universes that a console drives, too: who is there, what we do, and how to join, with what nodes would show. */
import { h, mark, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { redraw } from '../elements/rows.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { onNetwork } from '../words/network.js';
import { fetchLaptopWords, language, number, said } from '../words/words.js';

/** @typedef {import('../net/contract.js').Told} Told */
/** @typedef {import('../net/contract.js').Shared} Shared */
/** @typedef {Shared['join']} Join */
/** @typedef {{name: string, address: string, protocol: string, number: number, priority: number | null, per_slot: boolean, frames_per_s: number, since_s: number}} Heard */
/** @typedef {Told & {node: 'each' | 'plain' | 'artnet'}} Effect */
/** @typedef {{join: Join, possible: boolean, follows: boolean, held: boolean, trouble: Told | null, nodes: Effect[], following: Effect[]}} Way */
/** @typedef {{slot: number, channel: number | null, by: string, since_s: number, before: number, now: number | null, is_back?: boolean}} Loan */
/** @typedef {{to: string[], at: number, compared: number, differing: number[], slots: Loan[], why: (Told & {slot: number})[]}} Report */
/** @typedef {{universe: number, where: 'listening' | 'waiting' | 'joined', left_s: number, move: (Told & {where: 'listening' | 'waiting', agreed: boolean}) | null, crowd: Told | null, decided: Shared | null, join: Join | null, priority: number | null, outrank: number | null, artnet: boolean, trouble: Told | null, heard: Heard[], ways: Way[], borrowed: Loan[], stays: Told[], returned: number, given_back: Report | null}} Beside */

const WORDS = onNetwork.joining;
const EACH_MS = 1000;
const DEAF = ['sacn', 'groups', 'nodes']; // alerts that say who cannot be heard
const MOST_SLOTS = 40; // of a list; a whole universe is a number

/** @param {import('../app.js').Stage} stage */
export function show({ main, args, signal }) {
  let universe = Number(args[0]) || 0;
  /** The way that is unfolded, and how it would be followed. @type {Join | null} */ let open = null;
  let follow = false;
  let gone = /** @type {Shared['gone']} */ ('hold');
  /** @type {Beside | undefined} */ let shown;

  const universes = h('div', { className: 'choice universes', role: 'group', 'aria-label': late.slots.universe });
  const heard = h('ul', { className: 'others', 'aria-label': WORDS.heard });
  const reach = h('p', { className: 'hint' });
  const deaf = h('p', { className: 'failed', hidden: true });
  const now = h('p', { className: 'now', role: 'status' });
  const trouble = h('p', { className: 'failed', hidden: true });
  const ways = h('ul', { className: 'joins', 'aria-label': WORDS.ways });
  const borrowed = h('ul', { className: 'loans', 'aria-label': WORDS.borrowed });
  const rest = h('p', { className: 'hint' });
  const letsGo = h('p', { className: 'hint' }, WORDS.letsGo);
  const stays = h('ul', { className: 'stays', 'aria-label': WORDS.stays });
  const leave = h('button', { type: 'button', className: 'leave', onclick: once(() => void giveBack(false)) });
  const report = h('div', { className: 'report', role: 'status' });
  main.append(h('h1', null, WORDS.title), universes, h('div', { className: 'sides' }, h('section', null, h('h2', null, WORDS.heard), heard, deaf, reach, h('h2', null, WORDS.now), now, trouble, h('p', { className: 'hint' }, WORDS.theirs), h('h2', null, WORDS.borrowed), borrowed, rest, letsGo, stays, leave, report), h('section', null, h('h2', null, WORDS.ways), ways)));

  const drawWays = () => {
    if (!shown) return;
    const one = shown;
    const about = { universe: one.universe, decided: one.decided, where: one.where, asks: asks(one) };
    // What somebody is about to press stays under the thumb.
    redraw(ways, one.ways.map((way) => [way.join, { way, about, opened: open === way.join && { follow, gone } }]), ({ way }) => card(one, way));
  };
  /** @param {Beside} one @param {Way} way */
  const card = (one, way) => {
    const inForce = one.decided ? one.decided.join === way.join : one.where === 'joined' && way.join === 'alone';
    const isOpen = open === way.join;
    const turn = () => {
      open = isOpen ? null : way.join;
      follow = way.follows || (inForce && Boolean(one.decided?.follow));
      gone = (inForce && one.decided?.gone) || 'hold';
      drawWays();
      ways.querySelector("li:has([aria-expanded='true'])")?.scrollIntoView({ block: 'nearest' });
    };
    const head = h('button', { type: 'button', className: 'way', 'aria-expanded': String(isOpen), onclick: turn }, h('b', null, WORDS.to[way.join]), inForce && h('i', null, WORDS.inForce), h('span', null, way.possible ? WORDS.does[way.join] : WORDS.limits));
    const node = h('li', null, head, isOpen && panel(one, way, inForce));
    mark(node, 'data-chosen', inForce);
    return node;
  };
  /** @param {Beside} one @param {Way} way @param {boolean} inForce */
  const panel = (one, way, inForce) => {
    const follows = way.follows || follow;
    const nodes = follows ? way.following : way.nodes;
    const effects = h('dl', null, ...nodes.flatMap((each) => [h('dt', null, WORDS.nodes[each.node]), h('dd', null, said(each))]));
    const choose = way.join === 'alone' || way.join === 'below' ? [WORDS.base, pick([['own', WORDS.own], ['console', WORDS.console]], follow ? 'console' : 'own', (to) => (follow = to === 'console'))] : [];
    const ends = follows ? [WORDS.gone, pick([['hold', WORDS.hold], ['baseline', WORDS.baseline]], gone, (to) => (gone = /** @type {Shared['gone']} */ (to)))] : [];
    const same = inForce && (one.decided ? one.decided.follow === follows && (!follows || one.decided.gone === gone) : !follows);
    return h('div', { className: 'panel' }, way.trouble && h('p', { className: 'failed' }, said(way.trouble)), effects, ...group(choose), ...group(ends), way.possible && (same && one.decided && !asks(one) ? h('p', { className: 'hint' }, WORDS.isSo) : button(one, way, follows)));
  };
  /** @param {[string, string][]} options @param {string} current @param {(to: string) => void} chosen */
  const pick = (options, current, chosen) => h('div', { className: 'choice', role: 'group' }, ...options.map(([key, label]) => h('button', { type: 'button', 'aria-pressed': String(key === current), onclick: () => (chosen(key), drawWays()) }, label)));
  /** @param {Beside} one @param {Way} way @param {boolean} follows */
  const button = (one, way, follows) => {
    const label = WORDS.join(one.universe, WORDS.to[way.join]);
    const press = (/** @type {boolean} */ held) => void command({ do: 'share', universe: one.universe, join: way.join, follow: follows, gone, held }).then((answer) => answer.is === 'ok' && ((open = null), void look()));
    return way.held ? holdButton(label, way.join === 'off' ? WORDS.holdAloft : WORDS.holdOver, () => press(true)) : h('button', { type: 'button', className: 'main', onclick: once(() => press(false)) }, label);
  };

  const draw = (/** @type {Beside[]} */ all) => {
    universe = (all.find((one) => one.universe === universe) ?? all.find(asks) ?? all.find((one) => one.heard.length) ?? all[0])?.universe ?? 0;
    shown = all.find((one) => one.universe === universe);
    const marked = (/** @type {Beside} */ one) => (asks(one) ? WORDS.waits(one.universe) : one.heard.length ? WORDS.shared(one.universe) : late.slots.universeN(one.universe));
    while (universes.children.length > all.length) universes.lastElementChild?.remove();
    all.forEach((one, at) => {
      const each = universes.children[at] ?? universes.appendChild(h('button', { type: 'button', onclick: () => turnTo(Number(universes.children[at]?.getAttribute('data-universe'))) }));
      write(each, one.universe === universe ? late.slots.universeN(one.universe) : `${one.universe}${asks(one) ? ' !' : one.heard.length ? ' •' : ''}`);
      mark(each, 'data-universe', String(one.universe));
      mark(each, 'aria-pressed', String(one.universe === universe));
      mark(each, 'aria-label', marked(one));
    });
    heard.replaceChildren(...(shown?.heard.length ? shown.heard.map(line) : [h('li', { className: 'empty' }, WORDS.nobody)]));
    write(now, shown ? nowWords(shown) : '');
    const wrong = [shown?.move, shown?.crowd, shown?.trouble].filter((told) => !!told).map((told) => said(told));
    trouble.hidden = !wrong.length;
    write(trouble, wrong.join(' '));
    drawWays();
    drawLoans();
  };
  const drawLoans = () => {
    const loans = shown?.borrowed ?? [];
    borrowed.replaceChildren(...loans.slice(0, MOST_SLOTS).map((one) => loanLine(one)));
    const more = loans.length - MOST_SLOTS;
    write(rest, [more > 0 && WORDS.moreSlots(more), !loans.length && WORDS.nothingBorrowed, shown?.returned && WORDS.returned(shown.returned)].filter(Boolean).join(' '));
    leave.hidden = letsGo.hidden = !shown?.heard.length || shown.join === 'off';
    stays.replaceChildren(...(leave.hidden ? [] : (shown?.stays ?? []).map((one) => h('li', null, said(one)))));
    write(leave, busy ? WORDS.givingBack : WORDS.giveBack(universe));
    leave.disabled = busy;
    const last = shown?.given_back;
    const key = last ? String(last.at) : '';
    if (report.dataset.at === key) return;
    report.dataset.at = key;
    report.replaceChildren(...(last ? reportLines(last) : []));
  };
  let busy = false;
  /** @param {boolean} held */
  const giveBack = async (held) => {
    busy = true;
    drawLoans();
    const done = await call('POST', `/api/beside/${universe}/leave`, { held }).catch((/** @type {Error} */ error) => {
      const cause = /** @type {{ask?: string} | null} */ (error.cause);
      say(error.message, cause?.ask === 'held' ? [{ label: WORDS.giveBack(universe), hold: WORDS.giveBackHeld, press: () => void giveBack(true) }] : []);
    });
    busy = false;
    if (signal.aborted) return;
    if (done) open = null;
    drawLoans();
    await look();
  };
  const turnTo = (/** @type {number} */ to) => {
    universe = to;
    open = null;
    history.replaceState(null, '', `#beside/${to}`);
    void look();
  };
  const look = async () => {
    if (rig.link.value !== 'live' || document.visibilityState === 'hidden') return;
    const asking = universe;
    const told = await call('GET', `/api/beside${asking ? `?universe=${asking}` : ''}`).catch((/** @type {Error} */ error) => say(error.message));
    await fetchLaptopWords();
    if (signal.aborted || !told || asking !== universe) return;
    write(reach, WORDS.reach(told.ipv6));
    const cannot = DEAF.flatMap((about) => rig.alerts.value[about] ?? []);
    deaf.hidden = !cannot.length;
    write(deaf, cannot.map(said).join(' '));
    draw(told.universes);
    if (!asking && universe) await look(); // now with what each way would do there
  };
  const timer = setInterval(() => void look(), EACH_MS);
  signal.addEventListener('abort', () => clearInterval(timer));
  rig.link.read((link) => link === 'live' && void look(), signal);
  rig.shared.read(() => void look(), signal);
}

/** @param {(string | HTMLElement)[]} parts a heading and what it is about, or nothing */
const group = ([title, ...rest]) => (title ? [h('div', { className: 'pair' }, h('b', null, title), ...rest)] : []);

/** @param {Heard} one */
function line(one) {
  const since = new Date(Date.now() - one.since_s * 1000).toLocaleTimeString(language, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
  const how = one.priority === null ? WORDS.byArtNet(one.number) : WORDS.bySacn(one.number, one.priority, one.per_slot);
  return h('li', null, h('b', null, one.name), h('span', null, how), h('small', null, WORDS.facts(one.address, number(one.frames_per_s, 1), since)));
}

/** Whether it waits for the lead. @param {Beside} one */
const asks = (one) => one.where === 'waiting' || (one.move?.where === 'waiting' && !one.move.agreed);

/** What we do there now. @param {Beside} one */
function nowWords(one) {
  if (one.where === 'listening') return one.left_s ? WORDS.listening(Math.ceil(one.left_s)) : WORDS.away;
  if (one.where === 'waiting') return WORDS.waiting;
  const words = one.join === 'off' || !one.join ? WORDS.isOff : WORDS.is[one.join](one.priority ?? WORDS.noPriority, one.outrank);
  const follows = one.decided?.follow && one.join !== 'off' ? ` ${WORDS.follows}` : '';
  const paused = !one.artnet && one.join !== 'off' ? ` ${WORDS.paused}` : '';
  return words + follows + paused;
}

/** @param {Loan} one */
function loanLine(one) {
  const since = new Date(Date.now() - one.since_s * 1000).toLocaleTimeString(language, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
  return h('li', null, h('b', null, WORDS.slot(one.slot, one.channel)), h('span', null, WORDS.loan(one.by, since, one.before, one.now)));
}

/** @param {Report} last */
function reportLines(last) {
  const at = new Date(last.at * 1000).toLocaleTimeString(language, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
  const back = last.slots.filter((one) => one.is_back).length;
  const all = last.compared ? (last.differing.length ? WORDS.someDiffer(last.compared - last.differing.length, last.compared) : WORDS.allSame(last.compared)) : WORDS.nothingSent;
  return [
    h('p', { className: last.differing.length ? 'failed' : 'works' }, h('b', null, WORDS.gaveBack(last.to.join(', '), at)), h('span', null, [last.slots.length && WORDS.backOf(back, last.slots.length), all].filter(Boolean).join(' '))),
    last.why.length > 0 && h('ul', { className: 'loans' }, ...last.why.map((one) => h('li', null, h('b', null, WORDS.slot(one.slot, null)), h('span', null, said(one))))),
  ].filter((one) => one !== false);
}
