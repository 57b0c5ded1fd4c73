// @ts-check
/** Where a label's code leads: to the sheet of its fixture, or to words when this rig has none of that identity. */
import { h } from '../elements/dom.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { words } from '../words/words.js';

/** @param {import('../app.js').Stage} stage */
export function show({ main, args, signal }) {
  const code = args.join('/');
  const look = () => {
    const id = found(code);
    if (id) return location.replace(`#fixture/${encodeURIComponent(id)}/scanned`);
    const lines = rig.link.value === 'live' ? [h('h1', null, late.scanned.unknown(code)), h('p', null, late.scanned.why)] : [h('h1', null, words.fixture.looking)];
    main.replaceChildren(...lines, h('a', { className: 'button', href: '#fixtures' }, words.fixture.all));
  };
  rig.list.read(look, signal);
  rig.link.read(look, signal);
}

/** Codes are printed in capitals, so case says nothing, unless two fixtures differ in nothing else. @param {string} code */
function found(code) {
  if (rig.fixtures.has(code)) return code;
  return [...rig.fixtures.keys()].find((id) => id.toUpperCase() === code.toUpperCase());
}
