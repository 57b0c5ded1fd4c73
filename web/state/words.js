// @ts-check
/** GDTF attribute names in a technician's words, and the group of the sheet each belongs to. */
import { words } from '../words/words.js';

const said = words.attributes;

/** @typedef {'Level' | 'Aim' | 'Colour' | 'Beam' | 'More'} Group */
/** @type {Group[]} */
export const GROUPS = ['Level', 'Aim', 'Colour', 'Beam', 'More'];

/** First that fits decides. @type {[RegExp, Group][]} */
const PLACES = [
  [/^Dimmer/, 'Level'],
  [/^(Pan|Tilt|XYZ_|Rot_)/, 'Aim'],
  [/^(Color(?!.*(Speed|Time))|CT[OCB]|CIE_|HSB_|Tint|CRI)/, 'Colour'],
  [/^(Shutter|Strobe|Gobo|Prism|Iris|Zoom|Focus|Frost|Blade|Shaper|Animation|BeamShaper|Beam)/, 'Beam'],
];

/** Longest first where one name begins another. @type {[RegExp, Exclude<keyof typeof said, 'emitters' | 'cut' | 'plain'>][]} */
const NAMES = [
  [/^Dimmer$/, 'dimmer'],
  [/^PanRotate/, 'panTurning'], [/^TiltRotate/, 'tiltTurning'],
  [/^Shutter\d*Strobe/, 'strobe'], [/^Shutter/, 'shutter'],
  [/^ColorMacro/, 'colourSet'], [/^ColorEffects/, 'colourPlay'],
  [/^Color\d+(Wheel)?(Spin|WheelSpin)/, 'colourSpin'], [/^Color/, 'colourWheel'],
  [/^CTO$/, 'warmer'], [/^CTB$/, 'cooler'], [/^CTC$/, 'temperature'],
  [/^Gobo\d*PosRotate/, 'templateTurning'], [/^Gobo\d*Pos/, 'templateAngle'], [/^Gobo\d*\w*Spin/, 'templateSpin'], [/^Gobo/, 'template'],
  [/^Prism\d*PosRotate/, 'prismTurning'], [/^Prism\d*Pos/, 'prismAngle'], [/^Prism/, 'prism'],
  [/^Focus/, 'edge'], [/^Frost/, 'frost'], [/^ShaperRot/, 'cutsAngle'],
  [/^PositionMSpeed/, 'moveSpeed'], [/^AnimationWheel/, 'animation'], [/^LampControl/, 'lamp'], [/^Control/, 'control'],
];

/** @param {string} attribute @returns {Group} */
export const groupOf = (attribute) => PLACES.find(([fits]) => fits.test(attribute))?.[1] ?? 'More';

/**
 * @param {string} attribute GDTF name
 * @param {string} [given] what the profile calls it; used where we have no word
 */
export function wordsOf(attribute, given) {
  const mix = /^Color(Add|Sub|RGB)_(\w+)$/.exec(attribute);
  if (mix?.[2]) return said.emitters[mix[2]] ?? mix[2];
  const blade = /^Blade(\d)(A|B|Rot)$/.exec(attribute);
  if (blade?.[1] && blade[2]) return said.cut(blade[1], blade[2]);
  const number = /(\d+)/.exec(attribute)?.[1] ?? '1';
  const known = NAMES.find(([fits]) => fits.test(attribute))?.[1];
  const name = known ? said[known] : said.plain[attribute.replace(/\d+$/, '')];
  if (!name) return given && given !== attribute ? given : attribute.replace(/(\d+)$/, ' $1').replace(/([a-z])([A-Z])/g, '$1 $2').replace(/ 1$/, '');
  return number === '1' ? name : `${name} ${number}`;
}

/** @param {string} reason @returns {string} a sentence for a locked control */
export const guardWords = (reason) => words.guards.sentence(words.guards.does[reason] ?? words.guards.does.other ?? '');

/** @param {number} hue degrees @param {number} saturation 0..1 @returns {string} */
export function colourWords(hue, saturation) {
  if (saturation < 0.08) return words.colours.white;
  const name = words.colours.round[Math.round(hue / 30) % 12] ?? '';
  return saturation < 0.45 ? words.colours.pale(name) : name;
}

/**
 * What everybody must know about a unit, in words; "" where there is nothing.
 * @param {import('../net/contract.js').Fixture} it
 * @param {string} hands who has hands on it, "" for nobody
 * @returns {{fault: string, hands: string}}
 */
export const marksOf = (it, hands) => ({ fault: it.fault ? words.marks.fault(it.fault) : '', hands: hands && (hands === words.marks.you ? words.marks.yourHands : words.marks.hands(hands)) });
