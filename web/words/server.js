// @ts-check
/**
 * The laptop's sentences in another language than English. Only phones that speak one fetch this, with the first sentence
 * that is told or once nobody waits; see words.js.
 */

/** @typedef {import('../net/contract.js').Said} Said */
/** @typedef {Record<string, string>} Table  English to this phone's language */

/** Facts that hold a profile's words. What a person has typed is never translated, be it a position called "Left". */
const OF_PROFILES = new Set(['what', 'words', 'action', 'reason', 'kind']);

/**
 * @param {{default: Table, output: Table}} server  de-server.js, or that of another language
 * @param {{default: Table}} record  de-record.js, likewise
 * @param {(value: number, digits?: number) => string} number  writes a number as that language does
 * @param {(text: string) => string} word  says a profile's words in it
 * @returns {(told: {why: string, said?: Said}) => string}
 */
export function speaker(server, record, number, word) {
  const sentences = new Map(Object.entries({ ...server.default, ...record.default }));
  const output = Object.entries(server.output).map(([english, other]) => ({ fits: recogniser(english), other: other.replace(/\{(\w+)\}/g, '$<$1>') }));

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

  // A sentence that is not known stays as it came, whole.
  return ({ why, said }) => (said && sentences.has(said[0]) ? filled(said) : why);
}

/** @param {string} pattern @returns {RegExp} finds it in running text; what fills its gaps are the groups of those names */
function recogniser(pattern) {
  const plain = pattern.replace(/[.?]/g, '\\$&');
  return new RegExp(`${plain.replace(/\{(\w+)\}/g, '(?<$1>.+?)')}(?=[\\s:;.]|$)`, 'g'); // a host has points in it
}
