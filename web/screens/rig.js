// @ts-check
/** The whole rig at once: master and blackout, who is here, and how this phone looks. */
import { h, mark, write } from '../elements/dom.js';
import { FcFader } from '../elements/fc-fader.js';
import { holdButton } from '../elements/fc-hold.js';
import { call } from '../net/http.js';
import { close } from '../net/live.js';
import { command, setMaster, shownMaster } from '../state/asked.js';
import { keep, prefs, setHand, setShade } from '../state/prefs.js';
import { fixture, mine, rig } from '../state/rig.js';
import { percent } from '../state/values.js';

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const title = h('h1', null);
  rig.show.read(({ name, venue }) => write(title, [name, venue].filter(Boolean).join(', ') || 'Rig'), signal);
  const alerts = h('ul', { className: 'alerts', 'aria-label': 'What needs a look' });
  rig.alerts.read((all) => alerts.replaceChildren(...Object.values(all).map((words) => h('li', null, words))), signal);
  main.append(title, alerts, h('div', { className: 'columns' }, makeWhole(signal), h('div', { className: 'side' }, makePeople(signal), makePhone(signal))));
}

/** @param {AbortSignal} signal */
function makeWhole(signal) {
  const master = new FcFader();
  master.label = 'Master';
  master.step = 0.05;
  master.addEventListener('fc-move', (event) => setMaster(/** @type {CustomEvent<{position: number}>} */ (event).detail.position));
  master.addEventListener('fc-done', () => setMaster(shownMaster(), true));
  master.addEventListener('fc-type', () => void typeMaster());
  rig.master.read(() => {
    const at = shownMaster();
    master.show(at, { short: `${percent(at)}\u202f%`, long: `${percent(at)} percent` }, at < 1 ? 'hand' : 'home', at !== rig.master.value);
  }, signal);

  const dark = holdButton('Blackout', '', () => void command({ do: 'blackout', on: !rig.blackout.value }));
  rig.blackout.read((on) => {
    dark.pressed = on;
    dark.setAttribute('label', on ? 'Light again' : 'Blackout');
    dark.setAttribute('words', on ? 'Hold: everything comes back as it was.' : 'Hold: every show light goes to level 0. Work light stays. Call \u201cgoing dark\u201d first.');
  }, signal);
  const go = holdButton('Let go of all I hold', 'Hold: they fade back to the baseline.', () => void command({ do: 'let_go', fixture: '*' }));
  const held = h('p', { className: 'hint' });
  rig.holds.read(() => {
    const ids = mine();
    go.disabled = !ids.length;
    write(held, ids.length ? `In your hand: ${ids.slice(0, 12).map((id) => fixture(id).channel).join(', ')}${ids.length > 12 ? ' \u2026' : ''}` : 'You hold nothing.');
  }, signal);
  return h('section', { className: 'whole', 'aria-label': 'The whole rig' }, master, h('div', { className: 'holds' }, dark, go, held, h('p', { className: 'caution' }, 'Level 0 is not isolated. This is no emergency stop: only unplugging stops a unit.')));
}

async function typeMaster() {
  const { askNumber } = await import('../elements/keypad.js');
  const read = (/** @type {number} */ typed) => (typed >= 0 && typed <= 100 ? typed / 100 : 'It goes from 0 to 100 percent.');
  const value = await askNumber('Master', [{ name: 'Percent', start: percent(shownMaster()), read }]);
  if (value !== null) setMaster(value, true);
}

/** @param {AbortSignal} signal */
function makePeople(signal) {
  const list = h('ul', { className: 'people' });
  const draw = () => {
    /** @type {Map<string, number[]>} */
    const holds = new Map();
    for (const { value } of rig.fixtures.values()) if (value.holder) holds.set(value.holder, [...(holds.get(value.holder) ?? []), value.channel]);
    const people = Object.entries(rig.people.value).sort(([, a], [, b]) => Number(b.here) - Number(a.here) || a.name.localeCompare(b.name));
    list.replaceChildren(...people.filter(([id, person]) => person.here || holds.has(id)).map(([id, person]) => {
      const has = holds.get(id) ?? [];
      const me = id === rig.you.value.id;
      const words = has.length ? `has ${has.sort((a, b) => a - b).slice(0, 6).join(', ')}${has.length > 6 ? ' \u2026' : ''}` : 'has nothing in hand';
      return h('li', { 'data-drive': me ? 'hand' : has.length ? 'other' : 'home' }, h('i', { className: 'swatch' }), h('span', null, h('b', null, me ? `${person.name} (you)` : person.name), h('small', null, `${person.role} · ${person.here ? 'here' : 'away'} · ${words}`)));
    }));
  };
  rig.people.read(draw, signal);
  rig.holds.read(draw, signal);
  return h('section', { 'aria-labelledby': 'people' }, h('h2', { id: 'people' }, 'Who is here'), list);
}

/** @param {AbortSignal} signal */
function makePhone(signal) {
  /** @template {string} T @param {import('../state/cell.js').Cell<T>} cell @param {[T, string][]} choices @param {(value: T) => void} set @param {string} label */
  const choice = (cell, choices, set, label) => {
    const buttons = choices.map(([value, words]) => h('button', { type: 'button', onclick: () => set(value) }, words));
    cell.read((now) => buttons.forEach((button, at) => mark(button, 'aria-pressed', String(choices[at]?.[0] === now))), signal);
    return h('div', { className: 'choice', role: 'group', 'aria-label': label }, ...buttons);
  };
  const leave = h('button', { type: 'button', onclick: () => void out() }, `Leave (${prefs.name || 'you'})`);
  return h('section', { className: 'phone', 'aria-labelledby': 'phone' }, h('h2', { id: 'phone' }, 'This phone'),
    choice(prefs.shade, [['phone', 'Auto'], ['dark', 'Dark'], ['day', 'Day'], ['night', 'Night'], ['sharp', 'Sharp']], setShade, 'Shade'),
    choice(prefs.hand, [['left', 'Left thumb'], ['right', 'Right thumb']], setHand, 'Thumb'),
    leave,
    h('p', { className: 'hint' }, 'Keep the phone from locking itself in its own settings; if it sleeps, your light stays as it is. DMX512 has no error checking: nothing dangerous belongs on it.'));
}

async function out() {
  close();
  await call('POST', '/api/leave').catch(() => null);
  keep('in', null);
  rig.link.value = 'join';
}
