// @ts-check
/** Coming in: a name, a PIN where the lead asks for one, and help for the Wi-Fi. */
import { h, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { open } from '../net/live.js';
import { keep, prefs } from '../state/prefs.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';

/** The code of a scanned link stands where a PIN would: /j/1111. Codes are printed in capitals, so case says nothing. */
const scanned = /^\/j\/([^/]+)/i.exec(location.pathname)?.[1] ?? '';

/** @param {import('../app.js').Stage} stage */
export function show({ main }) {
  const name = h('input', { id: 'name', value: prefs.name, autocomplete: 'given-name', autocapitalize: 'words', maxLength: 24, required: true, enterKeyHint: 'next' });
  const pin = h('input', { id: 'pin', value: decodeURIComponent(scanned), inputMode: 'numeric', autocomplete: 'off', maxLength: 24, enterKeyHint: 'go' });
  const why = h('p', { className: 'why', role: 'alert' }, rig.isRemoved && late.join.removed);
  const go = h('button', { type: 'submit', className: 'main' }, late.join.go);
  const form = h('form', { noValidate: true },
    h('label', { for: 'name' }, late.join.name), name,
    h('label', { for: 'pin' }, late.join.pin), pin,
    h('p', { className: 'hint', id: 'pin-hint' }, late.join.noPin),
    why, go);
  pin.setAttribute('aria-describedby', 'pin-hint');
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    if (!name.value.trim()) {
      write(why, late.join.nameless);
      name.focus();
      return;
    }
    go.disabled = true;
    call('POST', '/api/join', { name: name.value.trim(), pin: pin.value.trim() })
      .then(() => comeIn(name.value.trim()), (/** @type {Error & {cause?: {name?: string}}} */ error) => {
        write(why, error.message);
        if (error.cause?.name) name.value = error.cause.name; // one that nobody else has
      })
      .finally(() => (go.disabled = false));
  });
  const help = h('details', null, h('summary', null, late.join.help), h('ul', null, ...late.join.helps.map((one) => h('li', null, one))));
  main.append(
    h('div', { className: 'tag welcome' }, h('i', { className: 'eyelet' }), h('h1', null, h('b', null, 'focuscall'), h('span', null, late.join.lead))),
    form,
    h('p', { className: 'caution' }, late.join.caution),
    help);
}

/** @param {string} name */
function comeIn(name) {
  keep('name', name);
  keep('in', '1');
  history.replaceState(null, '', `/${location.hash}`);
  rig.link.value = 'opening';
  open();
}
