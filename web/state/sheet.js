// @ts-check
/** What the sheet of a fixture holds: its controls gathered into groups of panes. No DOM. */
import { fractionOf, maxOf } from './values.js';
import { words } from '../words/words.js';
import { GROUPS, groupOf, wordsOf } from './words.js';

/** @typedef {import('../net/contract.js').Control} Control */
/** @typedef {import('../net/contract.js').ControlFunction} ControlFunction */
/** @typedef {import('../net/contract.js').Mode} Mode */
/** @typedef {import('../net/contract.js').Profile} Profile */
/** @typedef {import('./words.js').Group} Group */

/**
 * One thing a hand can move: a control, or the same control of several cells at once.
 * `low` and `high` are the fractions between which its main function lies.
 * @typedef {{keys: string[], control: Control, fn: ControlFunction | undefined, label: string, low: number, high: number,
 *   locked: string | null}} Grip
 */
/**
 * One step of a stepped control. `dmx` is its span, `raw` where a tap lands, `varies` when a fader inside makes sense.
 * @typedef {{label: string, dmx: [number, number], raw: number, fn: ControlFunction, physical: [number, number] | null,
 *   varies: boolean, strobe: boolean, slot: number | null}} Step
 */
/** @typedef {{kind: 'faders', title: string, grips: Grip[]}} Faders */
/** @typedef {{kind: 'aim', title: string, pan: Grip, tilt: Grip}} Aim */
/** @typedef {{kind: 'disc', title: string, sub: boolean, red: Grip, green: Grip, blue: Grip, white: Grip | undefined}} Disc */
/** @typedef {{kind: 'steps', title: string, grip: Grip, beside: Grip[]}} Steps  beside: a wheel's own angle and the like */
/** @typedef {{kind: 'acts', title: string, acts: {control: Control, fn: ControlFunction}[]}} Acts */
/** @typedef {{kind: 'white', title: string, fn: ControlFunction, grip: Grip} | {kind: 'white', title: string, warm: Grip, cool: Grip}} White  colour temperature */
/** @typedef {{kind: 'unit', title: string}} Unit  what is wrong with it, and whose hands are on it */
/** @typedef {Faders | Aim | Disc | White | Steps | Acts | Unit} Pane */

const ALL = null;

/** @param {Mode} mode @returns {string[]} the names of its cells, in order */
export const cellsOf = (mode) => [...new Set(mode.controls.map((one) => one.cell).filter((cell) => cell != null))];

const isFiller = (/** @type {string} */ attribute) => attribute.startsWith('NoFeature');

/** @param {Control} control @returns {ControlFunction[]} functions that do something when a value is set: no actions, no filler */
const plain = (control) => control.functions.filter((fn) => !fn.action && !isFiller(fn.attribute));

/** @param {Mode} mode @param {boolean} all the whole unit is guarded @returns {Control[]} what runs only while it is armed */
export const runsOf = (mode, all) => mode.controls.filter((one) => (all || one.guarded) && plain(one).length > 0);

/** @param {Control} control @returns {ControlFunction[]} those, and the named rest places beside them, as "Off" */
function settable(control) {
  if (!plain(control).length) return [];
  return control.functions.filter((fn) => !fn.action && (!isFiller(fn.attribute) || (fn.name && !/^(NoFeature|reserved|unused)/i.test(fn.called ?? fn.name))));
}

/** Things that slide, even where the profile names both ends. */
const SLIDES = /^(Dimmer|Pan|Tilt|Zoom|Focus|Iris|Frost|Color(Add|Sub|RGB)_|CT[OCB]|Blade|Shaper|.*(Pos|PosRotate)$)/;

/** @param {ControlFunction} fn @returns {boolean} its ranges say what nearly all of it does, not only its ends */
function isNamed(fn) {
  const named = (fn.ranges ?? []).reduce((sum, range) => sum + range.dmx[1] - range.dmx[0] + 1, 0);
  return named > 0.6 * (fn.dmx[1] - fn.dmx[0] + 1);
}

/** @param {Control} control @returns {boolean} it has named places, so a tap fits it better than a drag */
export function isStepped(control) {
  const [first, second] = settable(control);
  if (second || first?.strobes) return true;
  const ranges = first && isNamed(first) ? (first.ranges?.length ?? 0) : 0;
  return ranges > (SLIDES.test(control.attribute) ? 3 : 1);
}

/**
 * @param {Mode} mode
 * @param {string | null} cell one cell's name, or null for all of them together
 * @param {string | null} locked why nothing may be driven
 * @returns {Grip[]}
 */
export function gripsOf(mode, cell, locked) {
  /** @type {Map<string, Grip>} */
  const grips = new Map();
  for (const control of mode.controls) {
    if (isFiller(control.attribute) || (control.cell != null && cell !== ALL && control.cell !== cell)) continue;
    const name = control.cell == null ? control.key : `${control.attribute}/`;
    const same = grips.get(name);
    if (same) {
      same.keys.push(control.key);
      continue;
    }
    const [fn] = plain(control);
    const given = fn?.name ?? control.functions[0]?.name;
    const label = wordsOf(control.attribute, given) + (control.cell != null && mode.controls.some((one) => one.attribute === control.attribute && one.cell == null) ? words.panes.cells : '');
    const span = fn && plain(control).length === 1 ? fn.dmx : /** @type {const} */ ([0, maxOf(control)]);
    const why = locked ?? (control.guarded ? control.guarded.reason : null);
    grips.set(name, { keys: [control.key], control, fn, label, low: fractionOf(control, span[0]), high: fractionOf(control, span[1]), locked: why });
  }
  return [...grips.values()];
}

/**
 * @param {Mode} mode
 * @param {string | null} cell
 * @param {string | null} locked reason of a guard on the whole unit
 * @returns {Map<Group, Pane[]>} only groups that have something in them
 */
export function sheetOf(mode, cell, locked) {
  const grips = gripsOf(mode, cell, locked);
  /** @type {Map<Group, Pane[]>} */
  const sheet = new Map();
  for (const group of GROUPS) {
    const here = grips.filter((grip) => groupOf(grip.control.attribute) === group);
    const panes = [...discs(here), ...aims(here), ...whites(here), ...steppedFirst(group, here)];
    if (group === 'More') {
      panes.push(...acts(mode));
      // First on every sheet, so that "next" stays with it in a rig check; but controls come first where they are all there is.
      panes.splice(sheet.size ? 0 : panes.length, 0, { kind: 'unit', title: words.panes.unit });
    }
    if (panes.length) sheet.set(group, panes);
  }
  return sheet;
}

/** @param {Grip[]} grips @returns {Pane[]} */
function aims(grips) {
  const pan = grips.find((grip) => grip.control.attribute === 'Pan');
  const tilt = grips.find((grip) => grip.control.attribute === 'Tilt');
  return pan && tilt ? [{ kind: 'aim', title: words.panes.aim, pan, tilt }] : [];
}

/** @param {Grip[]} grips @returns {Pane[]} */
function discs(grips) {
  for (const [kind, ...names] of /** @type {const} */ ([['Add', 'R', 'G', 'B'], ['RGB', 'Red', 'Green', 'Blue'], ['Sub', 'C', 'M', 'Y']])) {
    const of = (/** @type {string} */ name) => grips.find((grip) => grip.control.attribute === `Color${kind}_${name}`);
    const [red, green, blue] = names.map(of);
    if (red && green && blue) return [{ kind: 'disc', title: words.panes.disc, sub: kind === 'Sub', red, green, blue, white: kind === 'Add' ? of('W') : undefined }];
  }
  return [];
}

/** @param {ControlFunction} fn @returns {boolean} its values are kelvin */
const isTemperature = (fn) => fn.unit === 'Temperature' && !!fn.physical && Math.min(...fn.physical) > 0;

/** @param {Grip[]} grips @returns {White[]} */
function whites(grips) {
  const warm = grips.find((grip) => grip.control.attribute === 'ColorAdd_WW');
  const cool = grips.find((grip) => grip.control.attribute === 'ColorAdd_CW');
  if (warm && cool) return [{ kind: 'white', title: words.panes.white, warm, cool }];
  const grip = grips.find((one) => /^CT[OCB]$/.test(one.control.attribute) && one.control.functions.some(isTemperature));
  const fn = grip?.control.functions.find(isTemperature);
  return grip && fn ? [{ kind: 'white', title: words.panes.white, fn, grip }] : [];
}

/** @param {Group} group @param {Grip[]} grips @returns {Pane[]} */
function steppedFirst(group, grips) {
  const inPad = aims(grips).length > 0;
  const white = whites(grips)[0];
  const inWhite = (/** @type {Grip} */ grip) => !!white && 'grip' in white && white.grip === grip && !isStepped(grip.control);
  const rest = grips.filter((grip) => plain(grip.control).length && !inWhite(grip) && !(inPad && /^(Pan|Tilt)$/.test(grip.control.attribute)));
  const stepped = rest.filter((grip) => isStepped(grip.control));
  const besideOf = (/** @type {Grip} */ wheel) => rest.filter((grip) => grip !== wheel && !isStepped(grip.control) && grip.control.attribute.startsWith(wheel.control.attribute));
  const faders = rest.filter((grip) => !isStepped(grip.control) && !stepped.some((wheel) => besideOf(wheel).includes(grip)));
  const mix = faders.filter((grip) => /^Color(Add|Sub|RGB)_/.test(grip.control.attribute));
  const other = faders.filter((grip) => !mix.includes(grip));
  return [
    ...chunks(mix, 5, () => words.panes.each),
    ...chunks(other.filter((grip) => !isCut(grip)), 5, (few) => (group === 'Level' ? words.panes.level : shortTitle(few))),
    ...chunks(other.filter(isCut), 4, (few) => `${words.panes.cuts} ${[...new Set(few.map((grip) => /\d/.exec(grip.label)?.[0]).filter(Boolean))].join(', ')}`),
    ...stepped.map((grip) => /** @type {Steps} */ ({ kind: 'steps', title: white && 'grip' in white && white.grip === grip ? words.panes.whiteOff : grip.label, grip, beside: besideOf(grip) })),
  ];
}

const isCut = (/** @type {Grip} */ grip) => /^Blade/.test(grip.control.attribute);

/** @param {Grip[]} few */
const shortTitle = (few) => few.slice(0, 2).map((grip) => grip.label).join(', ') + (few.length > 2 ? ' \u2026' : '');

/** @param {Grip[]} grips @param {number} size @param {(few: Grip[]) => string} title @returns {Faders[]} */
function chunks(grips, size, title) {
  const count = Math.ceil(grips.length / size);
  const each = Math.ceil(grips.length / (count || 1));
  return Array.from({ length: count }, (_, at) => {
    const few = grips.slice(at * each, (at + 1) * each);
    const name = title(few);
    return { kind: 'faders', title: count > 1 && name === words.panes.each ? `${name} ${at + 1}` : name, grips: few };
  });
}

/** @param {Mode} mode @returns {Pane[]} */
function acts(mode) {
  const all = mode.controls.flatMap((control) => control.functions.filter((fn) => fn.action).map((fn) => ({ control, fn })));
  return all.length ? [{ kind: 'acts', title: words.panes.acts, acts: all }] : [];
}

/** @param {Control} control @returns {Step[]} */
export function stepsOf(control) {
  return settable(control).flatMap((fn) => {
    const turns = !!fn.physical && fn.physical[0] !== fn.physical[1];
    const wide = (/** @type {[number, number]} */ dmx) => dmx[1] - dmx[0] > maxOf(control) / 24;
    const whole = { fn, strobe: !!fn.strobes, label: fn.name && fn.name !== fn.attribute ? fn.name : wordsOf(fn.attribute), physical: fn.physical ?? null };
    if (!fn.ranges || !isNamed(fn)) {
      const still = /^Shutter\d*$/.test(fn.attribute) || !wide(fn.dmx);
      return [{ ...whole, dmx: fn.dmx, raw: fn.dmx[0], varies: turns && !still, slot: null }];
    }
    return fn.ranges.map((range) => {
      const varies = range.physical ? range.physical[0] !== range.physical[1] : range.slot == null && turns && wide(range.dmx);
      const raw = varies ? range.dmx[0] : Math.floor((range.dmx[0] + range.dmx[1]) / 2);
      return { ...whole, label: range.name, dmx: range.dmx, raw, varies, slot: range.slot ?? null, physical: range.physical ?? whole.physical };
    });
  });
}

/** @param {Step[]} steps @param {number} raw @returns {Step | undefined} the narrowest that holds it */
export function stepAt(steps, raw) {
  const holding = steps.filter((step) => step.dmx[0] <= raw && raw <= step.dmx[1]);
  return holding.sort((a, b) => a.dmx[1] - a.dmx[0] - (b.dmx[1] - b.dmx[0]))[0];
}
