// @ts-check
/**
 * What comes in English from the laptop, in another language: its sentences, and the names in our own profiles.
 * Only phones that speak one fetch this, and after the first screen; see words.js.
 */

/** @typedef {import('../net/contract.js').Said} Said */
/** @typedef {import('../net/contract.js').Profile} Profile */
/** @typedef {Record<string, string>} Table  English to this phone's language */

const OURS = 'Generic'; // the maker that profiles/ names
/** Facts that hold a profile's words. What a person has typed is never translated, be it a position called "Left". */
const OF_PROFILES = new Set(['what', 'words', 'action', 'reason', 'kind']);

/**
 * Fetches the tables.
 * @param {string} language
 * @param {(value: number, digits?: number) => string} number  writes a number as that language does
 * @returns {Promise<{said: (told: {why: string, said?: Said}) => string, ours: (profile: Profile) => Profile}>}
 * @throws {TypeError} the link went away meanwhile
 */
export async function load(language, number) {
  /** @type {[{default: Table, output: Table}, {default: Table}, {default: Table}]} */
  const [server, record, { default: names }] = await Promise.all([import(`./${language}-server.js`), import(`./${language}-record.js`), import(`./${language}-profiles.js`)]);
  const sentences = new Map(Object.entries({ ...server.default, ...record.default }));
  const output = Object.entries(server.output).map(([english, other]) => ({ fits: recogniser(english), other: other.replace(/\{(\w+)\}/g, '$<$1>') }));
  const words = new Map(Object.entries(names));
  /** With any number in it: "Template 3" is "Template {n}". @param {string} text */
  const word = (text) => words.get(text) ?? words.get(text.replace(/\d+/, '{n}'))?.replace('{n}', /\d+/.exec(text)?.[0] ?? '') ?? text;

  /** As the server writes a number, with the signs of this language. @param {number} value */
  const written = (value) => number(value, String(Number(value.toPrecision(6))).split('.')[1]?.length ?? 0);

  /** @param {Said} said @returns {string} */
  const filled = ([pattern, facts = {}]) => (sentences.get(pattern) ?? pattern).replace(/\{(\w+)\}/g, (gap, name) => shown(name, facts[name] ?? gap));

  /** @param {string} name @param {string | number | Said} fact @returns {string} */
  function shown(name, fact) {
    if (typeof fact === 'number') return written(fact);
    if (typeof fact !== 'string') return filled(fact);
    if (OF_PROFILES.has(name)) return word(fact);
    return name === 'why' ? output.reduce((text, { fits, other }) => text.replace(fits, other), fact) : fact;
  }

  return {
    /** A sentence that is not known stays as it came, whole. */
    said: ({ why, said }) => (said && sentences.has(said[0]) ? filled(said) : why),
    /** A profile of ours in this language; one that somebody brought as it was written. */
    ours: (profile) => (profile.maker === OURS && !profile.called && words.has(profile.name) ? named(profile, word) : profile),
  };
}

/** @param {string} pattern @returns {RegExp} finds it in running text; what fills its gaps are the groups of those names */
function recogniser(pattern) {
  const plain = pattern.replace(/[.?]/g, '\\$&');
  return new RegExp(`${plain.replace(/\{(\w+)\}/g, '(?<$1>.+?)')}(?=[\\s:;.]|$)`, 'g'); // a host has points in it
}

/**
 * A copy to show. What is sent, or looked for in a name, is still called as in the file: `called`.
 * @param {Profile} profile
 * @param {(text: string) => string} word
 * @returns {Profile}
 */
function named(profile, word) {
  /** @template {{name?: string}} T @param {T} one @returns {T & {called?: string}} */
  const again = (one) => (one.name ? { ...one, name: word(one.name), called: one.name } : one);
  /** @param {import('../net/contract.js').ControlFunction} fn */
  const doing = (fn) => ({
    ...(fn.name === fn.attribute ? fn : again(fn)),
    ...(fn.ranges && { ranges: fn.ranges.map(again) }),
    ...(fn.action && { action: { ...fn.action, words: word(fn.action.words) } }),
  });
  const modes = profile.modes.map((mode) => ({
    ...mode,
    controls: mode.controls.map((one) => ({ ...one, functions: one.functions.map(doing) })),
    cellNames: Object.fromEntries(mode.controls.flatMap(({ cell }) => (cell ? [[cell, word(cell)]] : []))),
  }));
  const wheels = Object.fromEntries(Object.entries(profile.wheels ?? {}).map(([name, slots]) => [name, slots.map(again)]));
  return { ...again(profile), short_name: word(profile.short_name), wheels, modes };
}
