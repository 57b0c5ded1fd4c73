// @ts-check
/** The colour a fixture is asked for, as a swatch and a word. No DOM. */
import { cssOf, hueOf, linearOf, shownOf } from './colour.js';
import { modeOf, rig } from './rig.js';
import { stepAt, stepsOf } from './sheet.js';
import { fractionOf, rawOf } from './values.js';
import { words } from '../words/words.js';
import { colourWords } from './words.js';

/** @typedef {import('../net/contract.js').Fixture} Fixture */
/** @typedef {import('../net/contract.js').Mode} Mode */
/** @typedef {{css: string, word: string}} Tint */

const MIXES = /** @type {const} */ ([['ColorAdd_R', 'ColorAdd_G', 'ColorAdd_B'], ['ColorRGB_Red', 'ColorRGB_Green', 'ColorRGB_Blue'], ['ColorSub_C', 'ColorSub_M', 'ColorSub_Y']]);

/** @param {Fixture} it @returns {Tint | null} null: it has no colour to set, or none is set */
export function tintOf(it) {
  const mode = modeOf(it);
  if (!mode) return null;
  const wheel = wheelTint(it, mode);
  return wheel && wheel.word !== words.colours.white ? wheel : (emitterTint(it, mode) ?? mixTint(it, mode) ?? wheel);
}

/**
 * What its emitters give together, all cells at once, where the profile knows their colours. What it shows at home
 * counts as white, as does what the data calls so: typical emitters are less sure about white than a person is.
 * @param {Fixture} it
 * @param {Mode} mode
 * @returns {Tint | null}
 */
function emitterTint(it, mode) {
  const emitters = rig.profiles.get(it.profile)?.emitters ?? {};
  const [sum, white] = [[0, 0, 0], [0, 0, 0]];
  let known = 0;
  for (const control of mode.controls) {
    const { attribute, key, functions } = control;
    const xyY = attribute.startsWith('ColorAdd_') && emitters[functions[0]?.emitter ?? '']?.xyY;
    if (!xyY) continue;
    known += 1;
    linearOf(xyY).forEach((part, at) => {
      white[at] = (white[at] ?? 0) + part * fractionOf(control, control.home);
      sum[at] = (sum[at] ?? 0) + part * (it.values[key] ?? 0);
    });
  }
  const least = Math.max(...white) / 20; // a fixture of red and amber alone has no blue to be measured by
  if (known < 2 || !sum.some((part) => part > 0)) return null;
  const [own, plain] = [shownOf(sum.map((part, at) => part / Math.max(white[at] ?? 0, least || 1))), shownOf(sum)].map((shown) => ({ shown, ...hueOf(shown[0] ?? 0, shown[1] ?? 0, shown[2] ?? 0) }));
  if (!own || !plain) return null;
  const { shown, hue, saturation } = plain.saturation < own.saturation ? plain : own;
  return { css: `rgb(${shown.join(' ')})`, word: colourWords(hue, saturation) };
}

/** @param {Fixture} it @param {Mode} mode @returns {Tint | null} the first cell speaks for all */
function mixTint(it, mode) {
  const of = (/** @type {string} */ attribute) => {
    const control = mode.controls.find((one) => one.attribute === attribute);
    return control && (it.values[control.key] ?? 0);
  };
  for (const names of MIXES) {
    const [r, g, b] = names.map(of);
    if (r === undefined || g === undefined || b === undefined) continue;
    const white = of('ColorAdd_W') ?? 0;
    const [x, y, z] = names[0] === 'ColorSub_C' ? [1 - r, 1 - g, 1 - b] : [r + white, g + white, b + white];
    const most = Math.max(x, y, z);
    if (!most) return null;
    const { hue, saturation } = hueOf(x, y, z);
    return { css: `rgb(${[x, y, z].map((part) => Math.round((part / most) * 255)).join(' ')})`, word: colourWords(hue, saturation) };
  }
  return null;
}

/** @param {Fixture} it @param {Mode} mode @returns {Tint | null} */
function wheelTint(it, mode) {
  const control = mode.controls.find((one) => /^Color\d+$/.test(one.attribute));
  const step = control && stepAt(stepsOf(control), rawOf(control, it.values[control.key] ?? 0));
  const slot = /** @type {any} */ (step?.fn.wheel && rig.profiles.get(it.profile)?.wheels?.[step.fn.wheel]?.[(step.slot ?? 0) - 1]);
  if (!slot) return null;
  const word = /open|white/i.test(slot.called ?? slot.name) ? words.colours.white : slot.name.toLowerCase();
  return { css: slot.xyY ? cssOf(slot.xyY) : '', word }; // without a colour in the profile the word must do
}
