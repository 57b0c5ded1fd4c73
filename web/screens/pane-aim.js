// @ts-check
/** A pane to aim with: pan and tilt together. */
import { h, write } from '../elements/dom.js';
import { FcAim, turned } from '../elements/fc-aim.js';
import { holdButton } from '../elements/fc-hold.js';
import { command } from '../state/asked.js';
import { keep, kept } from '../state/prefs.js';
import { aloftAt, moves, namesOf, rig } from '../state/rig.js';
import { fractionOf, maxOf, rawOf, valueText, within } from '../state/values.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';
import { fine, finenessRow, same, typeValue, valueOf } from './pane-faders.js';

const WORDS = late.aiming;

/** @typedef {import('./fixture.js').Reach} Reach */
/** @typedef {import('../state/sheet.js').Grip} Grip */
/** @typedef {import('./pane-faders.js').Made} Made */

/** @param {import('../state/sheet.js').Aim} pane @param {Reach} reach @returns {Made} */
export function aimPane({ pan, tilt }, reach) {
  const pad = new FcAim();
  const keys = [...pan.keys, ...tilt.keys];
  pad.locked = pan.locked ?? tilt.locked;
  const spread = (/** @type {Grip} */ grip, /** @type {number} */ position) => grip.low + position * (grip.high - grip.low);
  const position = (/** @type {Grip} */ grip) => within((valueOf(grip, reach) - grip.low) / (grip.high - grip.low || 1));
  const rounded = (/** @type {Grip} */ grip, /** @type {number} */ at) => same(grip.keys, fractionOf(grip.control, rawOf(grip.control, spread(grip, at))));
  pad.addEventListener('fc-grab', (event) => reach.grab(keys, WORDS.what) || event.preventDefault());
  pad.addEventListener('fc-move', (event) => {
    const at = /** @type {CustomEvent<{pan: number, tilt: number}>} */ (event).detail;
    reach.put({ ...rounded(pan, at.pan), ...rounded(tilt, at.tilt) });
  });
  pad.addEventListener('fc-done', () => reach.put({ ...same(pan.keys, valueOf(pan, reach)), ...same(tilt.keys, valueOf(tilt, reach)) }, { now: true }));

  pad.addEventListener('fc-home', () => reach.home(keys, words.panes.aim));
  pad.turn = readTurn(reach.id);

  const number = (/** @type {Grip} */ grip) => h('button', { type: 'button', className: 'number', disabled: grip.locked !== null, onclick: () => void typeValue(grip, reach, [grip.low, grip.high]) });
  const panNumber = number(pan);
  const tiltNumber = number(tilt);
  const stepOf = (/** @type {Grip} */ grip) => {
    const raw = 1 / maxOf(grip.control) / (grip.high - grip.low || 1);
    const physical = grip.fn?.unit === 'Angle' ? grip.fn.physical : null;
    return Math.max(raw, physical ? fine().degrees / Math.abs(physical[1] - physical[0] || 1) : fine().step / 4);
  };
  const arrow = (/** @type {string} */ sign, /** @type {string} */ way, /** @type {number} */ x, /** @type {number} */ y) => {
    const press = () => {
      const [p, t] = turned(pad.turn, x, y);
      pad.nudge(p * stepOf(pan), t * stepOf(tilt));
    };
    const node = h('button', { type: 'button', disabled: pan.locked !== null, onclick: press }, sign);
    return { node, name: () => node.setAttribute('aria-label', `${(y === 0) === pad.turn.swap ? late.aim.tilt : late.aim.pan} ${way}`) };
  };
  const centre = holdButton(WORDS.centre, WORDS.centreMoves, () => reach.change(keys, WORDS.what, { ...rounded(pan, 0.5), ...rounded(tilt, 0.5) }, true));
  centre.disabled = pan.locked !== null;
  const four = [arrow('\u2190', WORDS.left, -1, 0), arrow('\u2192', WORDS.right, 1, 0), arrow('\u2191', WORDS.up, 0, 1), arrow('\u2193', WORDS.down, 0, -1)];
  const arrows = h('div', { className: 'arrows' }, ...four.map(({ node }) => node));
  const thumbWords = h('span', null);
  const thumb = h('button', { type: 'button', className: 'thumb', onclick: () => askTurn(pad.turn, turnTo) }, h('small', null, WORDS.thumb), thumbWords);
  const turnTo = (/** @type {import('../elements/fc-aim.js').Turn} */ turn) => {
    pad.turn = turn;
    keep(`turn ${reach.id}`, Object.entries(turn).flatMap(([name, on]) => (on ? [name] : [])).join(' ') || null);
    drawTurn();
    update();
  };
  const drawTurn = () => {
    write(thumbWords, turnWords(pad.turn) || WORDS.asItIs);
    for (const { name } of four) name();
  };
  /** @param {Grip} grip @param {string} name @param {boolean} back */
  const ends = (grip, name, back) => {
    const marks = [grip.low, grip.high].map((fraction) => `${name} ${valueText(grip.control, grip.fn, fraction).short}`);
    return back ? marks.reverse() : marks;
  };
  const update = () => {
    pad.gain = fine().gain;
    const sides = [ends(pan, late.aim.pan, pad.turn.pan), ends(tilt, late.aim.tilt, pad.turn.tilt)];
    const [[left = '', right = ''] = [], [bottom = '', top = ''] = []] = pad.turn.swap ? sides.reverse() : sides;
    pad.edges = [left, right, top, bottom];
    pad.homes = { pan: place(pan), tilt: place(tilt) };
    const long = { pan: valueText(pan.control, pan.fn, valueOf(pan, reach)), tilt: valueText(tilt.control, tilt.fn, valueOf(tilt, reach)) };
    write(panNumber, `${late.aim.pan} ${long.pan.short}`);
    write(tiltNumber, `${late.aim.tilt} ${long.tilt.short}`);
    const drive = reach.drive(pan) === 'home' ? reach.drive(tilt) : reach.drive(pan);
    pad.show(position(pan), position(tilt), { pan: long.pan.long, tilt: long.tilt.long }, drive, reach.isAsked(keys));
    if (drive === 'other') pad.drop();
  };
  const place = (/** @type {Grip} */ grip) => within((fractionOf(grip.control, grip.control.home) - grip.low) / (grip.high - grip.low || 1));
  drawTurn();
  const numbers = h('div', { className: 'numbers' }, panNumber, tiltNumber, thumb);
  return { node: h('div', { className: 'stack aim' }, numbers, pad, h('div', { className: 'under' }, arrows, centre), finenessRow(update), ...(reach.single ? [lightWithMotion(reach, centre), letMove(reach)] : [])), update };
}

/** Beside somebody aloft a light comes up as it hangs, and centred as well only when this is held. @param {Reach} reach @param {HTMLElement} centre */
function lightWithMotion({ id, cell, locked, signal }, centre) {
  const node = holdButton(WORDS.light, '', () => void command({ do: 'light_up', fixture: id, held: true }));
  rig.people.read(() => {
    const up = aloftAt(cell.value.position);
    const aloft = words.marks.aloft(namesOf(up), up.length);
    node.hidden = !up.length || locked !== null;
    node.setAttribute('words', WORDS.lightMoves(aloft));
    centre.setAttribute('words', up.length ? WORDS.centreNear(aloft) : WORDS.centreMoves);
  }, signal);
  return node;
}

/** What somebody aloft holds still goes on to where it is asked to be, and follows the thumb again, once this is held. @param {Reach} reach */
function letMove({ cell, mode, locked, signal, value, change }) {
  const keys = mode.controls.map(({ key }) => key).filter(moves);
  const node = holdButton(WORDS.free, '', () => change(keys, WORDS.what, Object.fromEntries(keys.map((key) => [key, value(key)])), true));
  const draw = () => {
    const it = cell.value;
    const up = aloftAt(it.position);
    node.hidden = !up.length || !it.still || it.hands_on.length > 0 || locked !== null || rig.you.value.role === 'house';
    node.setAttribute('words', WORDS.freeMoves(words.marks.aloft(namesOf(up), up.length)));
  };
  rig.people.read(draw, signal);
  cell.read(draw, signal);
  return node;
}

/** @param {string} id @returns {import('../elements/fc-aim.js').Turn} as this phone keeps it */
function readTurn(id) {
  const on = kept(`turn ${id}`, '').split(' ');
  return { pan: on.includes('pan'), tilt: on.includes('tilt'), swap: on.includes('swap') };
}

/** @param {import('../elements/fc-aim.js').Turn} turn */
const turnWords = ({ pan, tilt, swap }) => [pan && `${WORDS.pan} \u21c4`, tilt && `${WORDS.tilt} \u21c5`, swap && WORDS.swap].filter(Boolean).join(', ');

/** @param {import('../elements/fc-aim.js').Turn} turn @param {(turn: import('../elements/fc-aim.js').Turn) => void} turnTo */
function askTurn(turn, turnTo) {
  const now = { ...turn };
  const way = (/** @type {'pan' | 'tilt' | 'swap'} */ name, /** @type {string} */ words) => {
    const button = h('button', { type: 'button', 'aria-pressed': String(now[name]) }, words);
    button.addEventListener('click', () => {
      now[name] = !now[name];
      button.setAttribute('aria-pressed', String(now[name]));
      turnTo({ ...now });
    });
    return button;
  };
  const end = () => {
    dialog.close();
    dialog.remove();
  };
  const dialog = h('dialog', { className: 'types', 'aria-label': WORDS.title }, h('h2', null, WORDS.title), way('pan', WORDS.turnPan), way('tilt', WORDS.turnTilt), way('swap', WORDS.turnSwap),
    h('p', { className: 'hint' }, WORDS.only), h('button', { type: 'button', onclick: end }, WORDS.done));
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}
