// @ts-check
/**
 * The names in our own profiles in another language than English. Only phones that speak one fetch this, beside the first
 * script: rows and sheets are full of them. See words.js.
 */

/** @typedef {import('../net/contract.js').Profile} Profile */
/** @typedef {Record<string, string>} Table  English to this phone's language */

const OURS = 'Generic'; // the maker that profiles/ names

/**
 * @param {Table} names  de-profiles.js, or that of another language
 * @returns {{word: (text: string) => string, ours: (profile: Profile) => Profile}}
 */
export function namer(names) {
  const words = new Map(Object.entries(names));
  /** With any number in it: "Template 3" is "Template {n}". @param {string} text */
  const word = (text) => words.get(text) ?? words.get(text.replace(/\d+/, '{n}'))?.replace('{n}', /\d+/.exec(text)?.[0] ?? '') ?? text;
  return {
    word,
    /** A profile of ours in this language; one that somebody brought as it was written. */
    ours: (profile) => (profile.maker === OURS && !profile.called && words.has(profile.name) ? named(profile, word) : profile),
  };
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
