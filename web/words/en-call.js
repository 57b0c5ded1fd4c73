// @ts-check
/** The words of the focus call, in English; see en.js. */

/** @param {number} count @param {string} one @param {string} [many] */
const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;

export default {
  focus: {
    title: 'Focus call',
    whose: 'Whose turn', me: 'Me', card: 'Up now', sheet: 'Sheet', now: 'Now',
    inHand: (/** @type {string} */ name) => `In ${name}\u2019s hand`,
    nobodyYet: 'Nothing is up yet. Begin brings up the first one.',
    empty: 'The focus list is empty. The lead makes it on this screen.',
    emptyLead: 'The focus list is empty. Press List: the whole rig comes in one press.',
    begin: 'Begin', lastDone: 'Done', allDone: 'All done',
    comeBack: 'Come back', skip: 'Skip',
    count: (/** @type {number} */ done, /** @type {number} */ all, /** @type {number} */ back) => `${done} of ${all} done${back ? `, ${back} to come back to` : ''}`,
    list: 'List', listLong: 'Focus list', settings: 'How', settingsLong: 'How the call goes',
    /** @type {Record<'todo' | 'done' | 'back', string>} */
    marks: { todo: 'to do', done: 'done', back: 'come back' },
    givenTo: (/** @type {string} */ name) => `for ${name}`,
    unit: (/** @type {number | null} */ channel) => `Channel ${channel ?? '\u2013'} on the focus list`,
    bringUp: (/** @type {number | null} */ channel) => `Bring up ${channel ?? 'it'} now`,
    bringUpFor: (/** @type {string} */ name) => `For ${name}`,
    how: 'How far', give: 'Whose it is', anybody: 'Whoever comes to it',
    allOf: (/** @type {string} */ position) => `All of ${position}`,
    move: 'Its place',
    place: (/** @type {number} */ at, /** @type {number} */ all) => `Place ${at} of ${all}`,
    up: 'Up', down: 'Down', top: 'To the top', bottom: 'To the end',
    insertHere: 'Put another before it', insert: 'Put in', takeOff: 'Take off the list',
    insertBefore: (/** @type {number | null} */ channel) => `Before ${channel ?? 'it'}`,
    onList: (/** @type {number} */ count) => `${counted(count, 'unit')} on the list`,
    wholeRig: (/** @type {number} */ count) => `Whole rig as it hangs (${count})`,
    add: 'Put at the end',
    addPosition: (/** @type {string} */ position, /** @type {number} */ count) => `${position} (${count})`,
    isOn: (/** @type {string} */ position) => `${position}: on it`,
    addHeld: (/** @type {number} */ count) => `What I hold (${count})`,
    pickHint: 'Or pick units in the list of fixtures and put them here from there.',
    away: 'Take off', dropDone: 'What is done', empties: 'Empty the list', emptiesWords: 'Hold: marks and notes stay with the units.',
    level: 'A unit comes up at', levelHint: 'Somebody\u2019s eyes may be at the lens: start under full.',
    fade: 'The last one goes down over', fadeHint: 'It begins once the next one is up.', atOnce: 'At once',
    beside: 'Also on, in nobody\u2019s hand', besideNone: 'Nothing', besidePosition: 'The units beside it', besidePurpose: 'The same purpose',
    ready: 'Ready', toList: 'To the focus list',
  },
  shout: {
    label: 'Somebody calls', own: 'What you called', pad: 'Call across the room', open: 'Call',
    /** @type {Record<string, string>} */
    words: { stop: 'Stop', hold: 'Hold', work_light: 'Need work light', next: 'Next', ready: 'Ready' },
    from: (/** @type {string} */ name) => `${name} calls`,
    more: (/** @type {number} */ count) => `and ${count} more`,
    seen: 'I saw it',
    notSeen: (/** @type {string} */ names) => `not seen yet: ${names}`,
    seenBy: (/** @type {string} */ names) => `seen: ${names}`,
    to: (/** @type {string} */ name) => `Goes to ${name}.`,
    toAll: 'Goes to everybody at work.', toLead: 'Goes to the lead.',
    hint: 'Stop asks people to stop working. It is a word on a phone, not an emergency stop: nothing is switched off by it. Shout as well.',
  },
  update: {
    take: 'Take what I hold into it',
    title: (/** @type {string} */ name) => `${name}: what it would take`,
    nothing: 'What you have in hand is in the look already.',
    none: 'nothing', keep: (/** @type {number} */ count) => `Keep ${counted(count, 'value')}`,
  },
  note: {
    title: 'Focus note',
    of: (/** @type {number | null} */ channel) => `What ${channel ?? 'it'} is to do`,
    write: 'Note', purpose: 'Purpose', keep: 'Keep',
    /** @type {Record<string, string>} */
    fields: { spot: 'Hot spot', edge: 'Edge', size: 'Size', top: 'Cut top', bottom: 'Cut bottom', left: 'Cut left', right: 'Cut right', colour: 'Colour', template: 'Template', words: 'More' },
    /** What is called out most. @type {Record<string, string[]>} */
    chips: { edge: ['sharp', 'soft', 'half soft'], size: ['full flood', 'half', 'full spot'] },
    asFocused: 'As focused', bringBack: 'Bring it back as focused', picture: 'Photo of the result',
    doneBy: (/** @type {string} */ name, /** @type {string} */ time) => `Done by ${name}, ${time}`,
    keptFrom: 'To be done again. Kept from before:',
    notYet: 'Its values are kept when it is done.',
  },
};
