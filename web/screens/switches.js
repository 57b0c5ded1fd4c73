// @ts-check
/** The switches of a start address as they look on the unit in front of one, and the address of switches that one sees. */
import { h, mark, once, write } from '../elements/dom.js';
import { keep, kept } from '../state/prefs.js';
import { fixture, modeOf, rig } from '../state/rig.js';
import { addressOf, NINE, switchesOf, worth } from '../state/switches.js';
import { late } from '../words/late.js';
import { onPatch } from '../words/patch.js';
import { words } from '../words/words.js';

const WORDS = onPatch.switches;
/** What kinds of banks there are; on this phone the last one stays. Each: its name, and what it is at first. */
const KINDS = /** @type {const} */ (['ten', 'right', 'down', 'zero']);
/** @typedef {Record<typeof KINDS[number], boolean>} Bank */

/** @param {import('../app.js').Stage} stage */
export function show({ main, args, signal }) {
  const own = args[0] !== undefined && rig.fixtures.has(args[0]) ? args[0] : null;
  const it = own === null ? null : fixture(own);
  let universe = it?.universe ?? (Number(kept('universe', '')) || rig.universes.value[0] || 1);
  const saved = kept('switches', '').split(' ');
  const bank = /** @type {Bank} */ (Object.fromEntries(KINDS.map((kind) => [kind, saved.includes(kind)])));
  let on = /** @type {boolean[]} */ (switchesOf(it?.address ?? 1, bank.zero) ?? Array(NINE).fill(false));
  let tenth = false;
  let unset = /** @type {number | null} */ (null); // an address that the nine cannot show

  const number = h('button', { type: 'button', className: 'slot-number', onclick: () => void type() });
  const who = h('div', { className: 'who-there', role: 'status' });
  const universes = h('div', { className: 'choice universes', role: 'group', 'aria-label': late.slots.universe });
  const picture = h('div', { className: 'bank', role: 'img' });
  const keys = h('div', { className: 'bank-keys', role: 'group', 'aria-label': WORDS.press });
  const why = h('p', { className: 'why', role: 'alert' });
  const step = (/** @type {number} */ way) => h('button', { type: 'button', className: 'step', 'aria-label': way > 0 ? WORDS.nextAddress : WORDS.addressBefore, onclick: () => put((unset ?? addressOf(on, bank.zero) ?? 0) + way) }, way > 0 ? '+' : '\u2212');

  const draw = () => {
    const address = unset ?? addressOf(on, bank.zero);
    const all = bank.ten ? [...on, tenth] : on;
    const seen = all.map((isOn, at) => ({ isOn, number: at + 1, isUp: isOn !== bank.down }));
    if (bank.right) seen.reverse();
    write(number, address === null ? '?' : String(address));
    number.setAttribute('aria-label', WORDS.typeAnother(address));
    write(why, unset !== null ? WORDS.cannot(unset) : address === null ? WORDS.allOff : '');
    picture.hidden = unset !== null;
    picture.setAttribute('aria-label', WORDS.picture(seen.map((one) => WORDS.one(one.number, one.isOn)).join(', ')));
    picture.replaceChildren(...seen.map((one) => h('span', { 'data-on': one.isOn ? '' : null, 'data-up': one.isUp ? '' : null }, h('b', null, String(one.number)), h('i', null, h('i', null)), h('small', null, one.isOn ? WORDS.on : WORDS.off))));
    keys.replaceChildren(...seen.map((one) => h('button', { type: 'button', 'aria-pressed': String(one.isOn), 'aria-label': WORDS.key(one.number, one.isOn), onclick: () => flip(one.number) }, h('b', null, String(one.number)), h('span', null, one.isOn ? WORDS.on : WORDS.off), h('small', null, worth(one.number) ? `+${worth(one.number)}` : WORDS.notAddress))));
    who.replaceChildren(...whose(universe, address));
    universes.replaceChildren(...rig.universes.value.map((one) => h('button', { type: 'button', 'aria-pressed': String(one === universe), 'aria-label': late.slots.universeN(one), onclick: () => ((universe = one), keep('universe', String(one)), draw()) }, one === universe ? late.slots.universeN(one) : String(one))));
    mark(main, 'data-address', String(address ?? ''));
  };
  const put = (/** @type {number} */ address) => {
    if (address < 1 || address > 512) return;
    const found = switchesOf(address, bank.zero);
    unset = found ? null : address;
    on = found ?? on;
    draw();
  };
  const flip = (/** @type {number} */ which) => {
    unset = null;
    if (which > NINE) tenth = !tenth;
    else on = on.map((isOn, at) => (at === which - 1 ? !isOn : isOn));
    draw();
    /** @type {HTMLElement | undefined} */ ([...keys.querySelectorAll('button')].find((key) => key.querySelector('b')?.textContent === String(which)))?.focus({ preventScroll: true });
  };
  const type = async () => {
    const { askNumber } = await import('../elements/keypad.js');
    const to = await askNumber(WORDS.address, [{ name: WORDS.address, start: number.textContent ?? '', read: (typed) => (Number.isInteger(typed) && typed >= 1 && typed <= 512 ? typed : WORDS.range) }], words.keypad.go);
    if (to !== null) put(to);
  };
  /** @param {keyof Bank} kind */
  const kindOf = (kind) => {
    const buttons = [false, true].map((is) => h('button', { type: 'button', onclick: () => choose(kind, is) }, WORDS.kinds[kind][is ? 2 : 1]));
    const draw = () => buttons.forEach((button, at) => mark(button, 'aria-pressed', String(bank[kind] === (at === 1))));
    draw();
    redraws.push(draw);
    return h('div', { className: 'kind' }, h('b', null, WORDS.kinds[kind][0]), h('div', { className: 'choice', role: 'group', 'aria-label': WORDS.kinds[kind][0] }, ...buttons));
  };
  const redraws = /** @type {(() => void)[]} */ ([]);
  /** @param {keyof Bank} kind @param {boolean} is */
  const choose = (kind, is) => {
    const address = unset ?? addressOf(on, bank.zero);
    bank[kind] = is;
    keep('switches', KINDS.filter((one) => bank[one]).join(' '));
    for (const redraw of redraws) redraw();
    if (kind === 'zero' && address !== null) put(address); // the address is meant, its picture is another
    else draw();
  };

  const back = own === null || !it ? null : h('button', { type: 'button', className: 'own', onclick: once(() => it.address && ((universe = it.universe ?? universe), put(it.address))) }, it.address ? WORDS.ownAddress(it.channel, `${it.universe}.${it.address}`) : WORDS.noAddress(it.channel));
  if (back && !it?.address) back.disabled = true;
  rig.list.read(draw, signal);
  rig.universes.read(draw, signal);
  main.append(h('h1', null, WORDS.title), h('div', { className: 'slot-head' }, h('div', { className: 'stepper' }, step(-1), number, step(1)), h('div', null, who, back)),
    why, picture, keys, universes,
    h('section', { className: 'kinds', 'aria-labelledby': 'kinds' }, h('h2', { id: 'kinds' }, WORDS.front), ...KINDS.map(kindOf), h('p', { className: 'hint' }, WORDS.hint)));
}

/** Which fixtures there are. @param {number} universe @param {number | null} address */
function whose(universe, address) {
  if (address === null) return [];
  const found = rig.list.value.filter((id) => {
    const it = fixture(id);
    return it.universe === universe && it.address !== null && address >= it.address && address < it.address + Math.max(1, span(id));
  });
  if (!found.length) return [h('p', null, WORDS.nobody(universe))];
  return found.slice(0, 3).map((id) => {
    const it = fixture(id);
    const at = address - (it.address ?? 0);
    return h('a', { className: 'button', href: `#fixture/${encodeURIComponent(id)}` }, h('b', null, WORDS.channel(it.channel)), h('small', null, at ? WORDS.inside(at + 1) : it.position ? words.fixture.place(it.position, it.unit) : WORDS.begins));
  });
}

/** @param {string} id @returns {number} slots from its start address on */
function span(id) {
  const offsets = modeOf(fixture(id))?.controls.flatMap(({ offset }) => offset) ?? [];
  return offsets.length ? Math.max(...offsets) : 0;
}
