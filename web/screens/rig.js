// @ts-check
/** The whole rig at once: master and blackout, who is here, and how this phone looks. */
import { h, mark, write } from '../elements/dom.js';
import { FcFader } from '../elements/fc-fader.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { close } from '../net/live.js';
import { command, setMaster, shownMaster } from '../state/asked.js';
import { choose, keep, prefs, setHand, setShade } from '../state/prefs.js';
import { alertsHere, aloftAt, fixture, joins, mine, namesOf, rig } from '../state/rig.js';
import { percent } from '../state/values.js';
import { late } from '../words/late.js';
import { onNetwork } from '../words/network.js';
import { LANGUAGES, said, words } from '../words/words.js';
import { placeInHand, upButtons } from './aloft.js';
import { makeHandover } from './handover.js';
import { makeKept } from './kept.js';
import { makePapers } from './papers.js';
import { makePeople, makePins } from './people.js';
import { makeRecord } from './record.js';
import { makeShowFile } from './show.js';
import { makeWays } from './ways.js';

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const title = h('h1', null);
  rig.show.read(({ name, venue }) => write(title, [name, venue].filter(Boolean).join(', ') || late.rig.title), signal);
  const alerts = h('ul', { className: 'alerts', 'aria-label': late.rig.alerts });
  const join = h('a', { className: 'button main', href: '#beside' }, onNetwork.joining.decide);
  rig.alerts.read(() => {
    alerts.replaceChildren(...alertsHere().map((told) => h('li', null, said(told))));
    join.hidden = !joins();
  }, signal);
  const lead = rig.you.value.role === 'lead';
  const house = rig.you.value.role === 'house';
  main.append(title, alerts, join, makeKept(signal), h('div', { className: 'columns' }, makeWhole(signal), h('div', { className: 'side' }, makeWays(), upButtons(placeInHand, signal), makePeople(signal), makeRecord(signal), lead && makePins(), lead && makeShowFile(), lead && makeHandover(signal), !house && makePapers(signal), makePhone(signal))));
}

/** @param {AbortSignal} signal */
function makeWhole(signal) {
  const master = new FcFader();
  master.label = late.rig.master;
  master.step = 0.05;
  master.addEventListener('fc-move', (event) => setMaster(/** @type {CustomEvent<{position: number}>} */ (event).detail.position));
  master.addEventListener('fc-done', () => setMaster(shownMaster(), true));
  master.addEventListener('fc-type', () => void typeMaster());
  rig.master.read(() => {
    const at = shownMaster();
    master.show(at, { short: `${percent(at)}\u202f%`, long: words.values.percent(percent(at)) }, at < 1 ? 'hand' : 'home', at !== rig.master.value);
  }, signal);

  const dark = holdButton(late.rig.blackout, '', () => void command(!rig.blackout.value && aloftAt().length ? { do: 'going_dark' } : { do: 'blackout', on: !rig.blackout.value }));
  const drawDark = () => {
    const on = rig.blackout.value;
    const up = on ? [] : aloftAt();
    const lead = rig.you.value.role === 'lead';
    const aloft = words.marks.aloft(namesOf(up), up.length);
    dark.pressed = on;
    dark.disabled = up.length > 0 && (!lead || rig.dark.value?.refused === null);
    dark.setAttribute('label', on ? late.rig.again : up.length ? words.app.callDark : late.rig.blackout);
    dark.setAttribute('words', on ? late.rig.againWords : !up.length ? late.rig.blackoutWords : lead ? late.care.aloftDark(aloft) : late.care.leadDark(aloft));
  };
  for (const cell of [rig.blackout, rig.people, rig.you, rig.dark]) cell.read(drawDark, signal);
  const go = holdButton(late.rig.letGo, late.rig.letGoWords, () => void command({ do: 'let_go', fixture: '*' }));
  const held = h('p', { className: 'hint' });
  rig.holds.read(() => {
    const ids = mine();
    go.disabled = !ids.length;
    write(held, ids.length ? late.rig.held(ids.slice(0, 12).map((id) => fixture(id).channel).join(', ') + (ids.length > 12 ? ' \u2026' : '')) : late.rig.holdNothing);
  }, signal);
  return h('section', { className: 'whole', 'aria-label': late.rig.whole }, master, h('div', { className: 'holds' }, dark, go, held, h('p', { className: 'caution' }, late.rig.caution)));
}

async function typeMaster() {
  const { askNumber } = await import('../elements/keypad.js');
  const read = (/** @type {number} */ typed) => (typed >= 0 && typed <= 100 ? typed / 100 : words.keypad.percents);
  const value = await askNumber(late.rig.master, [{ name: words.keypad.percent, start: percent(shownMaster()), read }]);
  if (value !== null) setMaster(value, true);
}

/** @param {AbortSignal} signal */
function makePhone(signal) {
  /** @template {string} T @param {import('../state/cell.js').Cell<T>} cell @param {[T, string][]} choices @param {(value: T) => void} set @param {string} label */
  const choice = (cell, choices, set, label) => {
    const buttons = choices.map(([value, name]) => h('button', { type: 'button', onclick: () => set(value) }, name));
    cell.read((now) => buttons.forEach((button, at) => mark(button, 'aria-pressed', String(choices[at]?.[0] === now))), signal);
    return h('div', { className: 'choice', role: 'group', 'aria-label': label }, ...buttons);
  };
  const others = h('p', { className: 'hint others' });
  rig.laptop.read(({ pages, name }) => write(others, late.rig.others([...(pages.length ? pages : [`${location.origin}/`]), ...(name ? [name] : [])])), signal);
  const leave = h('button', { type: 'button', onclick: () => void out() });
  rig.you.read(({ name }) => write(leave, late.rig.leave(name || prefs.name)), signal);
  return h('section', { className: 'phone', 'aria-labelledby': 'phone' }, h('h2', { id: 'phone' }, late.rig.phone),
    choice(prefs.shade, [['phone', late.rig.auto], ['dark', late.rig.dark], ['day', late.rig.day], ['night', late.rig.night], ['sharp', late.rig.sharp]], setShade, late.rig.shade),
    choice(prefs.hand, [['left', late.rig.left], ['right', late.rig.right]], setHand, late.rig.thumb),
    choice(prefs.numbers, [['own', late.rig.own], ['percent', late.rig.percent], ['raw', late.rig.raw]], (value) => choose('numbers', value), late.rig.numbers),
    choice(prefs.sound, [['1', late.rig.sound], ['', late.rig.quiet]], (value) => choose('sound', value), late.rig.sounds),
    choice(prefs.language, LANGUAGES, speak, late.rig.language),
    leave,
    others,
    h('p', { className: 'hint' }, late.rig.sleep));
}

/** Everything is drawn anew, in the other words; light and holds stay as they are. @param {'' | 'en' | 'de'} language */
function speak(language) {
  if (language === prefs.language.value) return;
  choose('language', language);
  location.reload();
}

async function out() {
  const refused = await call('POST', '/api/leave').catch((/** @type {Error} */ error) => (error.cause ? error : null));
  if (refused) return say(refused.message); // somebody aloft, say, or with hands on a unit
  close();
  keep('in', null);
  rig.link.value = 'join';
}
