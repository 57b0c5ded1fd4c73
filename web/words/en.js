// @ts-check
/**
 * Every word of the page in English, by the file that shows it. What changes with a number or a name is a function.
 * A translation is another file of the same shape (the type checker wants all of it); see words.js.
 */

/** @param {number} count @param {string} one @param {string} [many] */
const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;

export default {
  shelf: {
    label: 'Screens', board: 'Board', fixtures: 'Fixtures', looks: 'Looks', slots: 'Slots', rig: 'Rig',
    shade: 'Shade', shadeLong: 'Shade: press for day or dark, hold for night',
  },
  link: {
    opening: 'Looking for the laptop',
    live: 'Live',
    waiting: 'Waiting for the laptop',
    none: 'No link. Your light stays as it is.',
    far: (/** @type {string} */ page) => `No link. Your light stays as it is. The laptop may have a new address: ${page ? `open ${page} or ` : ''}scan the code on the laptop again.`,
    join: 'Not joined',
    was: 'was',
    notSent: 'No link to the laptop. Nothing was sent; your light stays as it is.',
    notChanged: 'No link to the laptop. Nothing was changed.',
    lost: 'The link was lost before the laptop answered.',
    saidNo: (/** @type {number} */ status) => `The laptop said no (${status}).`,
  },
  app: {
    blackout: 'Blackout is on',
    master: (/** @type {string} */ percent) => `Master ${percent}\u202f%`,
    holds: (/** @type {string} */ name, /** @type {number} */ count) => (count ? `${name} holds ${count}` : name),
    strobe: 'Use it all the same',
    strobeWords: 'Hold: flashing light can set off seizures.',
    askToTake: (/** @type {string} */ name, /** @type {number} */ channel) => `${name} has ${channel}. Take it?`,
    takeIt: 'Take it',
    missed: (/** @type {number} */ count, /** @type {string[]} */ which) => `${counted(count, 'change')} did not arrive: ${which.join(', ')}.`,
    again: 'Send again',
    leaveIt: 'Leave it',
    read: 'OK',
    somebody: 'Somebody',
  },
  keypad: {
    set: 'Set', go: 'Go', minus: 'minus', rubOut: 'Rub out', notNow: 'Not now', first: 'Type a number first.',
    percent: 'Percent', degrees: 'Degrees', whole: 'Whole numbers only.',
    percents: 'It goes from 0 to 100 percent.',
    wholeFrom: (/** @type {number} */ from, /** @type {number} */ to) => `Whole numbers from ${from} to ${to}.`,
    goes: (/** @type {string} */ from, /** @type {string} */ to) => `It goes from ${from} to ${to}.`,
    goesPercent: '0 to 100 percent',
    goesTo: (/** @type {string | number} */ from, /** @type {string | number} */ to) => `${from} to ${to}`,
    range: (/** @type {string} */ range) => `It goes from ${range}.`,
  },
  fader: {
    type: (/** @type {string} */ label) => `${label}: type a value`,
    up: (/** @type {string} */ label) => `${label} up`,
    down: (/** @type {string} */ label) => `${label} down`,
    at: (/** @type {string} */ label, /** @type {number} */ percent) => `${label} ${percent} percent`,
  },
  values: {
    percent: (/** @type {string} */ share) => `${share} percent`,
    ofByte: (/** @type {string | number} */ byte) => `${byte} of 255`,
    /** Said after a number, by GDTF's name of the unit. @type {Record<string, string>} */
    units: { Angle: ' degrees', Temperature: ' kelvin', Frequency: ' hertz', AngularSpeed: ' degrees a second', Time: ' seconds', Length: ' metres', Speed: ' metres a second' },
  },
  groups: { Level: 'Level', Aim: 'Aim', Colour: 'Colour', Beam: 'Beam', More: 'More' },
  panes: {
    aim: 'Aim', disc: 'Disc', white: 'White', whiteOff: 'White off', level: 'Level', each: 'Each', cuts: 'Cuts', acts: 'Actions', unit: 'Fault, hands', cells: ', cells',
  },
  attributes: {
    /** After ColorAdd_, ColorSub_ and ColorRGB_. @type {Record<string, string>} */
    emitters: {
      R: 'Red', G: 'Green', B: 'Blue', W: 'White', WW: 'Warm white', CW: 'Cool white', UV: 'UV', C: 'Cyan', M: 'Magenta',
      Y: 'Yellow', RY: 'Amber', GY: 'Lime', GC: 'Turquoise', BC: 'Light blue', BM: 'Violet', RM: 'Pink', A: 'Amber', L: 'Lime',
      Red: 'Red', Green: 'Green', Blue: 'Blue',
    },
    cut: (/** @type {string} */ number, /** @type {string} */ part) => `Cut ${number} ${part === 'Rot' ? 'angle' : part}`,
    dimmer: 'Level', panTurning: 'Pan turning', tiltTurning: 'Tilt turning', strobe: 'Strobe', shutter: 'Shutter',
    colourSet: 'Colour set', colourPlay: 'Colour play', colourSpin: 'Colour spin', colourWheel: 'Colour wheel',
    warmer: 'Warmer', cooler: 'Cooler', temperature: 'Colour temperature',
    templateTurning: 'Template turning', templateAngle: 'Template angle', templateSpin: 'Template wheel spin', template: 'Template',
    prismTurning: 'Prism turning', prismAngle: 'Prism angle', prism: 'Prism', edge: 'Edge', frost: 'Frost', cutsAngle: 'Cuts angle',
    moveSpeed: 'Move speed', animation: 'Animation wheel', lamp: 'Lamp', control: 'Fixture control',
    /** What the profile's own name says well enough in English. @type {Record<string, string>} */
    plain: {},
  },
  guards: {
    sentence: (/** @type {string} */ does) => `Guarded: it ${does}. It is kept off and takes no values from here.`,
    /** @type {Record<string, string>} */
    does: {
      fog: 'makes fog', haze: 'makes haze', fan: 'drives a fan', power: 'switches power', lamp: 'works the lamp',
      control: 'takes orders that stop it lighting', other: 'needs somebody to watch it',
    },
  },
  colours: {
    white: 'white',
    round: ['red', 'amber', 'yellow', 'lime', 'green', 'mint', 'cyan', 'azure', 'blue', 'violet', 'magenta', 'pink'],
    pale: (/** @type {string} */ name) => `pale ${name}`,
  },
  marks: {
    fault: (/** @type {string} */ words) => `Fault: ${words}`,
    hands: (/** @type {string} */ name) => `${name} has hands on it`,
    yourHands: 'You have hands on it',
    you: 'You',
  },
  count: {
    fixtures: (/** @type {number} */ count) => counted(count, 'fixture'),
    of: (/** @type {number} */ some, /** @type {number} */ count) => `${some} of ${counted(count, 'fixture')}`,
  },
  list: {
    title: 'Fixtures',
    find: 'Find a fixture',
    findHint: 'Find place, purpose, type',
    number: 'Number',
    numberLong: 'Go to a channel number',
    top: 'Top',
    pick: 'Pick',
    pickAll: (/** @type {number} */ count) => `Pick all ${count}`,
    putBackAll: (/** @type {number} */ count) => `Put back all ${count}`,
    byPosition: 'By position', byChannel: 'By channel',
    empty: 'The rig is empty. The lead can bring in a rig file on the laptop.',
    looking: 'Looking for the laptop.',
    none: 'Nothing like that hangs here.',
    noChannel: (/** @type {number} */ channel) => `No fixture has channel ${channel}.`,
    goTo: 'Go to channel', pickChannel: 'Pick channel', channel: 'Channel',
    starred: 'Starred', seenLast: 'Seen last', nowhere: 'Nowhere yet',
    noPurpose: 'No purpose written',
    unit: (/** @type {string} */ unit) => `Unit ${unit}`,
    notPatched: 'not patched',
    you: 'You', guarded: 'Guarded',
    /** What a search also finds: unit, not patched, fault. */
    search: { unit: 'unit', notPatched: 'not patched', fault: 'fault' },
  },
  fixture: {
    gone: 'That fixture is not in the rig any more.',
    looking: 'Looking for the laptop.',
    all: 'All fixtures',
    unpatched: 'Not patched: it has no address yet, so nothing reaches it.',
    cells: 'Cells', allCells: 'All',
    controls: 'Controls',
    moves: 'It moves: call out, and keep clear.',
    nothing: 'Nothing here can be driven.',
    list: 'List',
    zero: 'level 0, ', notIsolated: 'not isolated', sent: 'sent now',
    label: 'This fixture',
    star: (/** @type {number} */ channel) => `Star channel ${channel}`,
    noPurpose: 'No purpose written',
    inHand: 'In your hand', nobody: 'Nobody has it',
    has: (/** @type {string} */ name, /** @type {boolean} */ away) => `${name} has it${away ? ', away' : ''}`,
    place: (/** @type {string} */ position, /** @type {string} */ unit) => `${position}, unit ${unit}`,
    workLight: 'work light',
    home: (/** @type {string} */ label) => `${label}: home.`,
    undo: 'Undo',
    undoWhat: (/** @type {string} */ what) => `Undo ${what}`,
    back: 'Back', next: 'Next', end: 'end',
    nextIs: (/** @type {number} */ channel) => `Next: channel ${channel}`,
    previousIs: (/** @type {number} */ channel) => `Previous: channel ${channel}`,
    noNext: 'No next fixture', noPrevious: 'No back fixture',
    lightUp: 'Light up', asItHangs: 'as it hangs',
    take: 'Take', letGo: 'Let go',
    withLight: 'Next brings the light along',
  },
  faders: {
    coarse: 'Coarse', fine: 'Fine', finest: 'Finest',
    howFine: 'How fine',
    full: 'Full', half: 'Half',
    fromTo: (/** @type {string} */ from, /** @type {string} */ to) => `${from} to ${to}`,
  },
};
