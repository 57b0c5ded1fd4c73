// @ts-check
/** Making nodes. Text goes in as text, never as markup. */

/** @typedef {Node | string | null | undefined | false} Child */

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {Record<string, any> | null} [props] `on…` are listeners, `data-…`/`aria-…`/`role`/`for` attributes, the rest properties
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function h(tag, props, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(props ?? {})) {
    if (value === undefined || value === null) continue;
    if (name.startsWith('on')) node.addEventListener(name.slice(2), value);
    else if (/^(data-|aria-|role$|for$)/.test(name)) node.setAttribute(name, String(value));
    else /** @type {any} */ (node)[name] = value;
  }
  node.append(...children.filter((child) => child != null && child !== false).map((child) => /** @type {Node | string} */ (child)));
  return node;
}

/** Sets text only when it differs, in the node that is there: cheap enough for every frame. @param {Element} node @param {string} text */
export function write(node, text) {
  const only = node.firstChild;
  if (only instanceof Text && !only.nextSibling) {
    if (only.data !== text) only.data = text;
  } else node.textContent = text;
}

/** @param {Element} node @param {string} name @param {string | boolean | null | undefined} value null, false: taken away */
export function mark(node, name, value) {
  if (value === null || value === undefined || value === false) node.removeAttribute(name);
  else if (node.getAttribute(name) !== String(value)) node.setAttribute(name, String(value));
}

/**
 * A press that answers once: gloves fire twice, so a second press within 400 ms is the same one
 * (common practice, no source).
 * @param {() => void} press
 */
export function once(press) {
  let last = -Infinity;
  return () => {
    const now = performance.now();
    if (now - last < 400) return;
    last = now;
    press();
  };
}

/**
 * Else the browser takes a flick on it for the start of a scroll, and swallows a tap on anything within 0.4 s after it.
 * @param {HTMLElement} surface what listens to pointers alone: no click comes of a finger on it
 */
export const keepTaps = (surface) => surface.addEventListener('touchstart', (event) => event.preventDefault(), { passive: false });

/** A short tick in the hand where the phone has one; never the only sign. */
export const tick = () => navigator.vibrate?.(12);

/**
 * The stylesheet beside a module that is not on the way to the first screen; settles when it is there, or cannot be.
 * @param {string} name of both, from the page's folder
 */
export function styled(name) {
  const href = new URL(`../${name}.css`, import.meta.url).href;
  if ([...document.styleSheets].some((sheet) => sheet.href === href)) return Promise.resolve();
  const link = h('link', { rel: 'stylesheet', href });
  return new Promise((/** @type {(done?: unknown) => void} */ done) => {
    link.onload = link.onerror = done;
    document.head.append(link);
  });
}

/** A tick where a value comes to one of its ends or to its home. @param {number} from @param {number} to @param {number | null} home */
export function tickAt(from, to, home) {
  if ([0, 1, home].some((at) => at !== null && from !== at && (from - at) * (to - at) <= 0)) tick();
}
