// @ts-check
/** Raw slots of a universe: step through them, set one, see what set each. */
import { h, mark, write } from '../elements/dom.js';
import { FcFader } from '../elements/fc-fader.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { answers, setSlot, shown } from '../state/asked.js';
import { keep } from '../state/prefs.js';
import { modeOf, nameOf, rig } from '../state/rig.js';
import { percent, rawOf } from '../state/values.js';
import { wordsOf } from '../state/words.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { rule } from './pane-faders.js';

/** @typedef {{id: string, key: string, name: string, byte: number, bytes: number}} Owner */

const NEIGHBOURS = [-3, -2, -1, 0, 1, 2, 3];
let bytes = false;

/** @param {import('../app.js').Stage} stage */
export function show({ main, args, signal }) {
  let universe = Number(args[0]) || rig.universes.value[0] || 1;
  let slot = Math.min(512, Math.max(1, Number(args[1]) || 1));
  /** @type {{slots: number[], set_by: string[], heard?: {name: string, priority: number | null}[]}} as they leave */ let sent = { slots: [], set_by: [] };
  /** @type {Map<number, Owner>} */ let owners = ownersOf(universe);
  let asked = /** @type {{slot: number, raw: number, until: number} | null} */ (null);

  const heading = h('h1', { className: 'unseen' }, late.slots.title);
  const heard = h('p', { className: 'hint', hidden: true });
  const universes = h('div', { className: 'choice universes', role: 'group', 'aria-label': late.slots.universe });
  const number = h('button', { type: 'button', className: 'slot-number', onclick: () => void typeSlot() });
  const what = h('p', { className: 'what' });
  const fader = new FcFader();
  const near = h('div', { className: 'near', role: 'group', 'aria-label': late.slots.beside });
  const release = h('button', { type: 'button', onclick: () => setSlot(universe, slot, null, true) }, late.slots.letGo);
  const unit = h('button', { type: 'button', onclick: () => ((bytes = !bytes), draw()) });
  const sheet = h('a', { className: 'button' });
  const step = (/** @type {number} */ way) => h('button', { type: 'button', className: 'step', 'aria-label': way > 0 ? late.slots.nextSlot : late.slots.slotBefore, onclick: () => go(slot + way) }, way > 0 ? late.slots.next : late.slots.back);

  const raw = (/** @type {number} */ at) => {
    if (asked?.slot === at && performance.now() < asked.until) return asked.raw;
    return liveByte(owners.get(at)) ?? rig.slots.value[universe]?.[at]?.raw ?? sent.slots[at - 1] ?? 0;
  };
  const text = (/** @type {number} */ value) => (bytes ? String(value) : `${percent(value / 255)}\u202f%`);

  const draw = () => {
    const owner = owners.get(slot);
    const by = rig.slots.value[universe]?.[slot];
    const it = owner && rig.fixtures.get(owner.id)?.value;
    write(number, String(slot));
    number.setAttribute('aria-label', late.slots.typeAnother(slot));
    const part = owner && owner.bytes > 1 ? late.slots.parts[owner.byte] : '';
    const who = by ? (by.by === rig.you.value.id ? late.slots.setByYou : late.slots.setBy(nameOf(by.by))) : it?.holder === rig.you.value.id && it ? late.slots.inHand : setBy(sent.set_by[slot - 1]);
    write(what, [it && owner ? late.slots.control(it.channel, owner.name + part) : late.slots.free, who].filter(Boolean).join(': '));
    fader.label = late.slots.slotN(slot);
    fader.step = 1 / 255;
    const drive = it?.holder ? (it.holder === rig.you.value.id ? 'hand' : 'other') : by ? (by.by === rig.you.value.id ? 'hand' : 'other') : raw(slot) ? 'look' : 'home';
    fader.show(raw(slot) / 255, { short: text(raw(slot)), long: bytes ? words.values.ofByte(raw(slot)) : words.values.percent(percent(raw(slot) / 255)) }, drive, false);
    write(unit, bytes ? late.slots.percent : late.slots.raw);
    sheet.hidden = !it;
    if (it && owner) {
      sheet.href = `#fixture/${owner.id}`;
      write(sheet, late.slots.sheet(it.channel));
    }
    const others = sent.heard ?? [];
    heard.hidden = !others.length;
    write(heard, others.length ? late.slots.alsoHeard(others.map(({ name, priority }) => late.slots.source(name, priority))) : '');
    for (const one of neighbours) one();
  };
  /** They stay while levels move in them, under a thumb. @param {number} way @returns {() => void} draws it */
  const makeNear = (way) => {
    const [fill, name, level] = [h('i', { className: 'fill' }), h('b', null), h('small', null)];
    const node = h('button', { type: 'button', 'aria-current': way === 0 ? 'true' : null, onclick: () => go(slot + way) }, h('span', { className: 'column' }, fill), name, level);
    near.append(node);
    return () => {
      const at = slot + way;
      node.style.visibility = at < 1 || at > 512 ? 'hidden' : '';
      fill.style.transform = `translateY(${100 - (raw(at) / 255) * 100}%)`;
      mark(node, 'aria-label', late.slots.slotAt(at, text(raw(at))));
      write(name, String(at));
      write(level, text(raw(at)).replace('\u202f%', ''));
    };
  };
  const neighbours = NEIGHBOURS.map(makeNear);
  const go = (/** @type {number} */ to) => {
    if (to < 1 || to > 512) return;
    slot = to;
    asked = null;
    history.replaceState(null, '', `#slots/${universe}/${slot}`);
    draw();
  };
  const put = (/** @type {number} */ value, /** @type {boolean} */ now) => {
    asked = { slot, raw: value, until: performance.now() + 1500 };
    setSlot(universe, slot, value, now);
    draw();
  };
  const typeSlot = async () => {
    const { askNumber } = await import('../elements/keypad.js');
    const to = await askNumber(late.slots.goTo, [{ name: late.slots.slot, start: String(slot), read: (typed) => (Number.isInteger(typed) && typed >= 1 && typed <= 512 ? typed : late.slots.range) }], words.keypad.go);
    if (to !== null) go(to);
  };
  fader.addEventListener('fc-type', async () => {
    const { askNumber } = await import('../elements/keypad.js');
    const percents = { name: words.keypad.percent, start: text(raw(slot)), read: (/** @type {number} */ typed) => (typed >= 0 && typed <= 100 ? Math.round(typed * 2.55) : words.keypad.percents) };
    const raws = { name: '0-255', start: text(raw(slot)), read: (/** @type {number} */ typed) => (Number.isInteger(typed) && typed >= 0 && typed <= 255 ? typed : words.keypad.wholeFrom(0, 255)) };
    const value = await askNumber(late.slots.slotN(slot), bytes ? [raws, percents] : [percents, raws]);
    if (value !== null) put(value, true);
  });
  fader.addEventListener('fc-move', (event) => put(Math.round(/** @type {CustomEvent<{position: number}>} */ (event).detail.position * 255), false));
  fader.addEventListener('fc-done', () => asked && put(asked.raw, true));

  const turnTo = (/** @type {number} */ to) => {
    universe = to;
    keep('universe', String(to));
    sent = { slots: [], set_by: [] };
    owners = ownersOf(universe);
    go(slot);
    drawUniverses();
    void look();
  };
  const drawUniverses = () => universes.replaceChildren(...rig.universes.value.map((one) => h('button', { type: 'button', 'aria-pressed': String(one === universe), 'aria-label': late.slots.universeN(one), onclick: () => turnTo(one) }, one === universe ? late.slots.universeN(one) : String(one))));
  let failed = false;
  const look = async () => {
    const asking = universe;
    const answer = await call('GET', `/api/universes/${asking}`).catch((/** @type {Error} */ error) => {
      if (!failed && !signal.aborted) say(error.message);
      failed = true;
      return null;
    });
    if (!answer || asking !== universe || signal.aborted) return;
    failed = false;
    sent = answer;
    draw();
  };
  answers.addEventListener('refused', () => ((asked = null), draw()), { signal });
  rig.universes.read(drawUniverses, signal);
  rig.slots.read(draw, signal);
  rig.list.read(() => ((owners = ownersOf(universe)), draw()), signal);
  const timer = window.setInterval(() => rig.link.value === 'live' && !document.hidden && void look(), 1000);
  signal.addEventListener('abort', () => clearInterval(timer));
  main.append(heading, universes, heard, h('div', { className: 'slot-head' }, number, h('div', null, what, sheet)), near,
    h('div', { className: 'faders', 'data-count': 1 }, fader, rule(late.slots.slot, ['255', '191', '128', '64', '0'], false, (share) => put(Math.floor(share * 255 + 0.5), true))),
    h('div', { className: 'hand-row' }, step(-1), unit, release, step(1)));
  mark(main, 'data-universe', String(universe));
  void look();
}

/** What the server says set a slot, in words. @param {string | undefined} by */
function setBy(by) {
  const { nobody, home, look, guard, offLimits } = late.slots;
  const known = { '': nobody, home, look, guard, 'off limits': offLimits };
  const theirs = /^console ?(.*?)(, held)?$/.exec(by ?? '');
  if (theirs) return theirs[2] ? late.slots.heldFrom(theirs[1] ?? '') : late.slots.from(theirs[1] ?? '');
  return by === undefined ? '' : by in known ? known[/** @type {keyof typeof known} */ (by)] : late.slots.setBy(by);
}

/** @param {number} universe @returns {Map<number, Owner>} which control each slot belongs to */
function ownersOf(universe) {
  const owners = new Map();
  for (const [id, { value: it }] of rig.fixtures) {
    if (it.universe !== universe || !it.address) continue;
    for (const control of modeOf(it)?.controls ?? [])
      control.offset.forEach((offset, byte) => owners.set((it.address ?? 0) + offset - 1, { id, key: control.key, name: wordsOf(control.attribute, control.functions[0]?.name), byte, bytes: control.offset.length }));
  }
  return owners;
}

/** @param {Owner | undefined} owner @returns {number | undefined} the byte asked for, when a hand drives it */
function liveByte(owner) {
  const it = owner && rig.fixtures.get(owner.id)?.value;
  const control = it && modeOf(it)?.controls.find((one) => one.key === owner.key);
  if (!it?.holder || !owner || !control) return undefined;
  const raw = rawOf(control, shown(owner.id, owner.key));
  return Math.floor(raw / 256 ** (owner.bytes - 1 - owner.byte)) % 256;
}
