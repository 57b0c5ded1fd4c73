// @ts-check
/** Lists that are drawn anew while somebody presses or types in them. */

/** @type {WeakMap<Element, Map<string, {told: string, node: HTMLElement}>>} */
const shown = new WeakMap();

/**
 * Draws a list: what would be made from the same as before stays as it is, under a thumb or with what is typed in it.
 * @template T
 * @param {Element} list nothing else is in it
 * @param {[string, T][]} items by key; all that a row is made from
 * @param {(item: T, old?: HTMLElement) => HTMLElement} make old: what it takes the place of
 */
export function redraw(list, items, make) {
  const old = shown.get(list) ?? new Map();
  const now = new Map(items.map(([key, item]) => {
    const [before, told] = [old.get(key), JSON.stringify(item)];
    return [key, before?.told === told ? before : { told, node: make(item, before?.node) }];
  }));
  shown.set(list, now);
  for (const [key, { node }] of old) if (now.get(key)?.node !== node) node.remove();
  [...now.values()].forEach(({ node }, at) => list.children[at] === node || list.insertBefore(node, list.children[at] ?? null));
}
