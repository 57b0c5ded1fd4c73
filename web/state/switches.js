// @ts-check
/**
 * Start addresses on a bank of little switches: number k of nine is worth 2^(k-1); those behind it are no part of the
 * address. The laptop's own rule (rig/switches.py) is the same; both are tried on one printed table.
 */

export const NINE = 9; // common practice, no standard: makers' manuals agree on these
const SLOTS = 512;

/** @param {number} switchNumber from 1 @returns {number} what it adds when it is on; 0: no part of the address */
export const worth = (switchNumber) => (switchNumber <= NINE ? 2 ** (switchNumber - 1) : 0);

/**
 * @param {number} address 1-512
 * @param {boolean} fromZero all off is address 1
 * @returns {boolean[] | null} the nine, number 1 first; null: they cannot show it
 */
export function switchesOf(address, fromZero) {
  const number = fromZero ? address - 1 : address;
  if (!Number.isInteger(address) || address < 1 || address > SLOTS || number >= 2 ** NINE) return null;
  return Array.from({ length: NINE }, (_, at) => Math.floor(number / 2 ** at) % 2 === 1);
}

/**
 * @param {boolean[]} on number 1 first
 * @param {boolean} fromZero
 * @returns {number | null} 1-512; null: all nine are off where that is no address
 */
export function addressOf(on, fromZero) {
  const number = on.slice(0, NINE).reduce((sum, isOn, at) => sum + (isOn ? worth(at + 1) : 0), 0);
  return fromZero ? number + 1 : number || null;
}
