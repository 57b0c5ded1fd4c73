// @ts-check
/** A fixture whose profile nobody has: hold a button, look, say what is seen; a draft profile comes of it. */
import { h, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { FcRun } from '../elements/fc-run.js';
import { command } from '../state/asked.js';
import { nameOf, rig } from '../state/rig.js';
import { onLibrary } from '../words/library.js';
import { kept } from './teach-kept.js';

/** @typedef {import('../net/contract.js').Teaching} Teaching */
/** @typedef {import('../net/contract.js').TeachStep} TeachStep */

const WORDS = onLibrary.teach;
const PHASE_MS = 1200; // before, with it, before again: slow enough to look up, and far from flashing
/** Which answers stand together; the rest stands for itself. @type {Record<keyof typeof WORDS.groups, readonly string[]>} */
const GROUPS = {
  light: ['white', 'red', 'green', 'blue', 'amber', 'lime', 'cyan', 'indigo', 'ultraviolet', 'warm', 'cold', 'on', 'part', 'flickers', 'dark'],
  move: ['sideways', 'updown'],
  beam: ['size', 'edge', 'iris', 'frost', 'blade', 'blade_other', 'blade_turns', 'frame_turns', 'effect'],
  colour: ['colour', 'less_red', 'less_green', 'less_blue', 'warmer', 'tint', 'hue', 'saturation'],
  picture: ['picture', 'picture_turns', 'multiplied', 'multiplied_turns'],
  harm: ['smoke', 'haze', 'fan', 'spun', 'reset', 'lamp', 'flame'],
};

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const place = h('div', { className: 'place' });
  let drawn = '';
  const draw = () => {
    const it = rig.teaching.value;
    const now = JSON.stringify([it, rig.you.value.role, it && nameOf(it.by)]);
    if (now === drawn) return;
    drawn = now;
    if (!it) place.replaceChildren(...beginning());
    else if (it.by !== rig.you.value.id) place.replaceChildren(...others(it));
    else place.replaceChildren(...(it.step ? asking(it, it.step, signal) : []), ...ending(it));
    main.scrollTop = 0;
  };
  for (const cell of [rig.teaching, rig.you]) cell.read(draw, signal);
  main.append(h('h1', null, WORDS.title), place);
}

/** @param {string} label @param {() => void} press @param {string} [className] */
const button = (label, press, className = '') => h('button', { type: 'button', className, onclick: once(press) }, label);

/** Held, for a slip of the thumb would lose every answer. */
const stop = () => holdButton(WORDS.stop, WORDS.stopWords, () => void command({ do: 'teach_end' }));

function beginning() {
  const field = (/** @type {string} */ id, /** @type {string} */ label, /** @type {string} */ value) => {
    const input = h('input', { id, value, inputMode: 'numeric', autocomplete: 'off', maxLength: 5 });
    return { input, node: h('div', null, h('label', { for: id }, label), input) };
  };
  const universe = field('teach-universe', WORDS.universe, String(rig.universes.value[0] ?? 1));
  const first = field('teach-first', WORDS.first, '');
  const slots = field('teach-slots', WORDS.slots, '');
  const why = h('p', { className: 'why', role: 'alert' });
  const begin = async () => {
    const [at, from, count] = [universe, first, slots].map(({ input }) => Number(input.value));
    if (![at, from, count].every((one) => Number.isInteger(one) && Number(one) > 0)) return write(why, WORDS.numbers);
    const told = await command({ do: 'teach_begin', universe: at, first: from, slots: count }, true);
    write(why, told.is === 'refused' ? told.why : '');
  };
  const form = h('form', { noValidate: true, className: 'where', onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    void begin();
  } }, universe.node, first.node, slots.node, why, h('button', { type: 'submit', className: 'main' }, WORDS.begin));
  return [h('p', null, WORDS.how), form, h('p', { className: 'caution' }, WORDS.before)];
}

/** @param {Teaching} it */
function others(it) {
  return [
    h('p', { role: 'status' }, WORDS.other(nameOf(it.by), it.universe, it.first, it.first + it.slots - 1, it.answered)),
    button(WORDS.carryOn, () => void command({ do: 'teach_take' }), 'main'),
    h('p', { className: 'hint' }, WORDS.carryOnWhen),
  ];
}

/** @param {Teaching} it @param {TeachStep} step @param {AbortSignal} signal */
function asking(it, step, signal) {
  const slot = it.first + step.slot - 1;
  const phase = h('p', { className: 'phase', role: 'status' });
  const above = aloft();
  return [
    h('p', { className: 'far' }, h('b', null, step.slot ? WORDS.slot(slot, step.slot, it.slots) : WORDS.together), h('span', null, WORDS.answered(it.answered))),
    h('p', { className: 'question' }, question(step)),
    above && h('p', { className: 'caution' }, WORDS.aloft(above)),
    makeHold(step, phase, signal),
    phase,
    makeChoices(it, step),
    h('div', { className: 'ends' }, button(WORDS.back, () => void command({ do: 'teach_answer', answer: null })), stop()),
  ].filter((node) => node !== '');
}

/** @param {TeachStep} step */
function question({ ask, at }) {
  const asked = /** @type {Record<string, (level: number) => string>} */ (WORDS.ask);
  return asked[ask]?.(at) ?? '';
}

/** Who works at height, whom what is raised may meet. */
const aloft = () => Object.values(rig.people.value).flatMap((one) => (one?.aloft ? [WORDS.aloftAt(one.name, one.aloft)] : [])).join(', ');

/** @param {TeachStep} step @param {HTMLElement} phase @param {AbortSignal} signal */
function makeHold(step, phase, signal) {
  const run = new FcRun();
  const caution = /** @type {Record<string, string>} */ (WORDS.caution);
  run.setAttribute('label', WORDS.hold);
  run.setAttribute('words', caution[step.caution] ?? WORDS.release);
  let pressed = -1;
  let began = 0;
  run.addEventListener('fc-run', (event) => void ask(/** @type {CustomEvent<{on: boolean, press: number}>} */ (event).detail));
  /** @param {{on: boolean, press: number}} held */
  const ask = async ({ on, press }) => {
    if (press !== pressed) [pressed, began] = [press, performance.now()];
    const look = Math.floor((performance.now() - began) / PHASE_MS) % step.looks;
    write(phase, on ? WORDS.phase(look, step.looks, step.ask) : '');
    const answer = await command({ do: 'teach_hold', press, look, on }, !on);
    if (answer.is === 'refused' && on) run.stop();
  };
  signal.addEventListener('abort', () => run.stop());
  return run;
}

/** @param {Teaching} it @param {TeachStep} step */
function makeChoices(it, step) {
  const node = h('div', { className: 'seen', role: 'group', 'aria-label': WORDS.answer });
  const say = (/** @type {string} */ answer) => button(called(answer, it), () => void command({ do: 'teach_answer', answer }), answer === 'nothing' ? 'none' : '');
  const grouped = step.choices.length > 12 ? GROUPS : {};
  const within = (/** @type {readonly string[]} */ some) => some.filter((one) => step.choices.includes(one));
  const whole = () => {
    const alone = step.choices.filter((one) => !Object.values(grouped).flat().includes(one));
    const groups = Object.entries(grouped).map(([name, some]) => button(`${WORDS.groups[/** @type {keyof typeof WORDS.groups} */ (name)]}\u2009\u2026`, () => part(within(some)), 'group'));
    node.replaceChildren(...alone.slice(0, 1).map(say), ...groups, ...alone.slice(1).map(say));
  };
  const part = (/** @type {readonly string[]} */ some) => {
    node.replaceChildren(...some.map(say), button(WORDS.allAnswers, whole, 'group'));
    node.querySelector('button')?.focus({ preventScroll: true });
  };
  whole();
  return node;
}

/** @param {string} answer @param {Teaching} it */
export function called(answer, it) {
  const known = /** @type {Record<string, string>} */ (WORDS.seen);
  const coarse = /^fine (\d+)$/.exec(answer)?.[1];
  return coarse ? WORDS.hair(known[it.seen[coarse] ?? ''] ?? '', it.first + Number(coarse) - 1) : (known[answer] ?? answer);
}

/** What is known so far, and what becomes of it. @param {Teaching} it */
function ending(it) {
  if (it.flame) return [h('p', { className: 'caution', role: 'alert' }, WORDS.flame), stop()];
  const parts = new Set(Object.values(it.fine));
  const rows = Array.from({ length: it.slots }, (_, at) => at + 1).filter((slot) => !parts.has(slot)).map((slot) => {
    const fine = it.fine[slot];
    return h('li', null, h('b', null, fine ? `${it.first + slot - 1} + ${it.first + fine - 1}` : String(it.first + slot - 1)), h('span', null, called(it.seen[slot] ?? 'nothing', it)));
  });
  const list = [h('ul', { className: 'known' }, ...rows), h('p', { className: 'hint' }, WORDS.guarded), kept(it)];
  if (it.step) return [h('details', null, h('summary', null, WORDS.soFar), ...list)];
  const ends = h('div', { className: 'ends' }, button(WORDS.back, () => void command({ do: 'teach_answer', answer: null })), stop());
  return [h('p', { className: 'question', role: 'status' }, WORDS.done), ...list, ends];
}
