// @ts-check
/** One control of a draft, as a form: what it is, its slots, what its range does, whether it is guarded. */
import { h } from '../elements/dom.js';
import { changed, setSlots, stepOf } from '../state/drafting.js';
import { wordsOf } from '../state/words.js';
import { onLibrary } from '../words/library.js';

/** @typedef {import('../state/drafting.js').Control} Control */
/** @typedef {import('../state/drafting.js').ControlFunction} ControlFunction */

const WORDS = onLibrary.draft;
/** What a control can be, by GDTF's names; one that is none of these stays as it is. */
const ATTRIBUTES = [
  'NoFeature', 'Dimmer', 'Pan', 'Tilt', 'PanRotate', 'TiltRotate', 'PositionMSpeed', 'Shutter1', 'Shutter1Strobe', 'Shutter1StrobeRandom', 'Shutter1StrobePulse', 'StrobeDuration',
  'ColorAdd_R', 'ColorAdd_G', 'ColorAdd_B', 'ColorAdd_W', 'ColorAdd_WW', 'ColorAdd_CW', 'ColorAdd_RY', 'ColorAdd_GY', 'ColorAdd_GC', 'ColorAdd_BM', 'ColorAdd_UV', 'ColorSub_C', 'ColorSub_M', 'ColorSub_Y',
  'CTO', 'CTB', 'CTC', 'Tint', 'Color1', 'Color1WheelSpin', 'Color2', 'Color2WheelSpin', 'ColorMacro1', 'Gobo1', 'Gobo1WheelSpin', 'Gobo1SelectShake', 'Gobo1Pos', 'Gobo1PosRotate', 'Gobo2', 'Gobo2WheelSpin', 'Gobo2Pos', 'Gobo2PosRotate',
  'Prism1', 'Prism1Pos', 'Prism1PosRotate', 'Focus1', 'Zoom', 'Iris', 'Frost1', 'AnimationWheel1', 'Blade1A', 'Blade1B', 'Blade2A', 'Blade2B', 'Blade3A', 'Blade3B', 'Blade4A', 'Blade4B', 'ShaperRot',
  'DimmerCurve', 'Effects1', 'Control1', 'Control2', 'LampControl', 'FixtureGlobalReset', 'Fog1', 'Haze1', 'Fan1',
];
const MUST = /** @type {[RegExp, string][]} */ ([[/^Fog\d*$/, 'fog'], [/^Haze\d*$/, 'haze'], [/^Fan\d+$/, 'fan'], [/^LampControl$/, 'lamp'], [/^(Control|FixtureGlobalReset)/, 'control'], [/^Effects/, 'other']]);
let made = 0;

/** @param {Control} control @param {() => void} remove */
export function makeForm(control, remove) {
  const form = h('div', { className: 'form' });
  const draw = () => form.replaceChildren(...parts(control, draw, remove));
  draw();
  return form;
}

/** @param {Control} control @param {() => void} draw anew @param {() => void} remove */
function parts(control, draw, remove) {
  const step = stepOf(control);
  const most = 256 ** (control.offset.length || 2) - 1;
  const guards = ['', ...Object.keys(WORDS.guards)];
  return [
    picked(WORDS.what, ATTRIBUTES, control.attribute, (name) => wordsOf(name), (name) => {
      const old = control.attribute;
      for (const fn of control.functions) {
        if (fn.name === fn.attribute || fn.name === 'Nothing') fn.name = name;
        if (fn.attribute === old) fn.attribute = name;
      }
      control.attribute = name;
      // What can hurt is guarded from the moment it is called so.
      const must = MUST.find(([fits]) => fits.test(name))?.[1];
      if (must && !control.guarded) control.guarded = { reason: must, safe: control.home };
      changed();
      draw();
    }),
    h('div', { className: 'pair' },
      typed(WORDS.slotsOf, control.offset.join(' + '), (text) => {
        const numbers = (text.match(/\d+/g) ?? []).map(Number).slice(0, 4);
        if (!numbers.length || numbers.some((one) => one < 1 || one > 512)) return false;
        const wider = numbers.length !== control.offset.length;
        setSlots(control, numbers);
        changed();
        if (wider) draw();
        return true;
      }),
      typed(WORDS.cell, control.cell ?? '', (text) => {
        if (text.includes('/')) return false;
        control.cell = text || null;
        changed();
        return true;
      })),
    h('div', { className: 'pair' },
      whole(WORDS.home(most), control.home, most, (raw) => {
        control.default = control.home = raw ?? 0;
        if (control.guarded) control.guarded.safe = control.home;
      }),
      whole(WORDS.highlight, control.highlight ?? null, most, (raw) => (control.highlight = raw))),
    picked(WORDS.guard, guards, control.guarded?.reason ?? '', (name) => (name ? (WORDS.guards[name] ?? name) : WORDS.noGuard), (name) => {
      control.guarded = name ? { reason: name, safe: control.home } : null;
      if (!name) delete control.guarded;
      changed();
    }),
    h('p', { className: 'hint' }, WORDS.ranges(step > 1)),
    ...control.functions.map((fn) => part(control, fn, step, draw)),
    h('div', { className: 'choice' },
      h('button', { type: 'button', onclick: () => {
        const last = control.functions.at(-1);
        const from = Math.min(most, (last?.dmx[1] ?? -1) + 1);
        control.functions.push({ attribute: control.attribute, name: WORDS.part, dmx: [from, most] });
        changed();
        draw();
      } }, WORDS.addPart),
      h('button', { type: 'button', onclick: remove }, WORDS.remove)),
  ];
}

/** @param {Control} control @param {ControlFunction} fn @param {number} step @param {() => void} draw */
function part(control, fn, step, draw) {
  const most = 256 ** (control.offset.length || 2) - 1;
  const turns = fn.unit === 'Angle' || /^(Pan|Tilt)$/.test(fn.attribute);
  const own = fn.physical ?? [0, 1];
  return h('fieldset', { 'aria-label': fn.name ?? fn.attribute },
    span(fn, step, most, () => drop(control.functions, fn, draw, control.functions.length > 1)),
    control.functions.length > 1 && picked(WORDS.does, ATTRIBUTES, fn.attribute, (name) => wordsOf(name), (name) => {
      fn.attribute = name;
      changed();
    }),
    fn.action && h('p', { className: 'caution' }, fn.action.words),
    turns && h('div', { className: 'pair' }, ...[0, 1].map((end) => typed(end ? WORDS.toDegrees : WORDS.fromDegrees, String(own[end]), (text) => {
      const value = Number(text.replace(',', '.').replace('\u2212', '-'));
      if (!text || !Number.isFinite(value)) return false;
      const pair = /** @type {[number, number]} */ ([...(fn.physical ?? [0, 1])]);
      pair[end] = value;
      Object.assign(fn, { physical: pair, unit: 'Angle' });
      changed();
      return true;
    }))),
    ...(fn.ranges ?? []).map((range) => span(range, step, most, () => drop(fn.ranges ?? [], range, draw, true))),
    h('button', { type: 'button', onclick: () => {
      const from = (fn.ranges?.at(-1)?.dmx[1] ?? fn.dmx[0] - 1) + 1;
      (fn.ranges ??= []).push({ name: WORDS.range, dmx: [Math.min(from, fn.dmx[1]), fn.dmx[1]] });
      changed();
      draw();
    } }, WORDS.addRange));
}

/** @template T @param {T[]} list @param {T} one @param {() => void} draw @param {boolean} may */
function drop(list, one, draw, may) {
  if (may) list.splice(list.indexOf(one), 1);
  changed();
  draw();
}

/** From, to, name. @param {{name?: string, dmx: [number, number]}} piece @param {number} step @param {number} most @param {() => void} remove */
function span(piece, step, most, remove) {
  const end = (/** @type {0 | 1} */ at) => typed(at ? WORDS.to : WORDS.from, String(Math.floor(piece.dmx[at] / step)), (text) => {
    const value = Number(text);
    const raw = at ? (value + 1) * step - 1 : value * step;
    if (!/^\d+$/.test(text) || raw > most) return false;
    piece.dmx[at] = raw;
    changed();
    return true;
  }, 'numeric');
  return h('div', { className: 'span' }, end(0), end(1), typed(WORDS.called, piece.name ?? '', (text) => {
    if (!text) return false;
    piece.name = text.slice(0, 200);
    changed();
    return true;
  }), h('button', { type: 'button', 'aria-label': WORDS.removeRange(piece.name ?? ''), onclick: remove }, '\u00d7'));
}

/** @param {string} label @param {string} value @param {(text: string) => boolean} take answers whether it can be so @param {string} [inputMode] */
function typed(label, value, take, inputMode) {
  const id = `control-${(made += 1)}`;
  const input = h('input', { id, value, autocomplete: 'off', spellcheck: false, inputMode });
  input.addEventListener('input', () => input.setAttribute('aria-invalid', String(!take(input.value.trim()))));
  return h('div', { className: 'field' }, h('label', { for: id }, label), input);
}

/** @param {string} label @param {number | null} value @param {number} most @param {(raw: number | null) => void} take */
const whole = (label, value, most, take) => typed(label, value === null ? '' : String(value), (text) => {
  const raw = text === '' ? null : Number(text);
  if (raw !== null && !(Number.isInteger(raw) && raw >= 0 && raw <= most)) return false;
  take(raw);
  changed();
  return true;
}, 'numeric');

/** @param {string} label @param {string[]} names @param {string} value @param {(name: string) => string} shown @param {(name: string) => void} take */
function picked(label, names, value, shown, take) {
  const id = `control-${(made += 1)}`;
  const all = names.includes(value) ? names : [value, ...names];
  const select = h('select', { id, onchange: () => take(select.value) }, ...all.map((name) => h('option', { value: name }, shown(name))));
  select.value = value;
  return h('div', { className: 'field' }, h('label', { for: id }, label), select);
}
