// @ts-check
/** GDTF attribute names in a technician's words, and the group of the sheet each belongs to. */

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

/** @type {Record<string, string>} */
const EMITTERS = {
  R: 'Red', G: 'Green', B: 'Blue', W: 'White', WW: 'Warm white', CW: 'Cool white', UV: 'UV', C: 'Cyan', M: 'Magenta',
  Y: 'Yellow', RY: 'Amber', GY: 'Lime', GC: 'Turquoise', BC: 'Light blue', BM: 'Violet', RM: 'Pink', A: 'Amber', L: 'Lime',
};

/** Longest first where one name begins another. @type {[RegExp, string][]} */
const NAMES = [
  [/^Dimmer$/, 'Level'],
  [/^PanRotate/, 'Pan turning'], [/^TiltRotate/, 'Tilt turning'],
  [/^Shutter\d*Strobe/, 'Strobe'], [/^Shutter/, 'Shutter'],
  [/^ColorMacro/, 'Colour set'], [/^ColorEffects/, 'Colour play'],
  [/^Color\d+(Wheel)?(Spin|WheelSpin)/, 'Colour spin'], [/^Color/, 'Colour wheel'],
  [/^CTO$/, 'Warmer'], [/^CTB$/, 'Cooler'], [/^CTC$/, 'Colour temperature'],
  [/^Gobo\d*PosRotate/, 'Template turning'], [/^Gobo\d*Pos/, 'Template angle'], [/^Gobo\d*\w*Spin/, 'Template wheel spin'], [/^Gobo/, 'Template'],
  [/^Prism\d*PosRotate/, 'Prism turning'], [/^Prism\d*Pos/, 'Prism angle'], [/^Prism/, 'Prism'],
  [/^Focus/, 'Edge'], [/^Frost/, 'Frost'], [/^ShaperRot/, 'Cuts angle'],
  [/^PositionMSpeed/, 'Move speed'], [/^AnimationWheel/, 'Animation wheel'], [/^LampControl/, 'Lamp'], [/^Control/, 'Fixture control'],
];

/** @param {string} attribute @returns {Group} */
export const groupOf = (attribute) => PLACES.find(([fits]) => fits.test(attribute))?.[1] ?? 'More';

/**
 * @param {string} attribute GDTF name
 * @param {string} [given] what the profile calls it; used where we have no word
 */
export function wordsOf(attribute, given) {
  const mix = /^Color(Add|Sub|RGB)_(\w+)$/.exec(attribute);
  if (mix?.[2]) return EMITTERS[mix[2]] ?? mix[2];
  const blade = /^Blade(\d)(A|B|Rot)$/.exec(attribute);
  if (blade) return `Cut ${blade[1]} ${blade[2] === 'Rot' ? 'angle' : blade[2]}`;
  const number = /(\d+)/.exec(attribute)?.[1] ?? '1';
  const name = NAMES.find(([fits]) => fits.test(attribute))?.[1];
  if (!name) return given && given !== attribute ? given : attribute.replace(/(\d+)$/, ' $1').replace(/([a-z])([A-Z])/g, '$1 $2').replace(/ 1$/, '');
  return number === '1' ? name : `${name} ${number}`;
}

/** @type {Record<string, string>} */
const GUARDS = {
  fog: 'makes fog', haze: 'makes haze', fan: 'drives a fan', power: 'switches power', lamp: 'works the lamp',
  control: 'takes orders that stop it lighting',
};

/** @param {string} reason @returns {string} a sentence for a locked control */
export const guardWords = (reason) => `Guarded: it ${GUARDS[reason] ?? 'needs somebody to watch it'}. It is kept off and takes no values from here.`;

/** @param {number} hue degrees @param {number} saturation 0..1 @returns {string} */
export function colourWords(hue, saturation) {
  if (saturation < 0.08) return 'white';
  const names = ['red', 'amber', 'yellow', 'lime', 'green', 'mint', 'cyan', 'azure', 'blue', 'violet', 'magenta', 'pink'];
  const name = names[Math.round(hue / 30) % 12] ?? '';
  return saturation < 0.45 ? `pale ${name}` : name;
}

/**
 * What everybody must know about a unit, in words; "" where there is nothing.
 * @param {import('../net/contract.js').Fixture} it
 * @param {string} hands who has hands on it, "" for nobody
 * @returns {{fault: string, hands: string}}
 */
export const marksOf = (it, hands) => ({ fault: it.fault ? `Fault: ${it.fault}` : '', hands: hands && `${hands} ${hands === 'You' ? 'have' : 'has'} hands on it` });

/** @param {number} count @param {string} one @param {string} [many] */
export const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;
