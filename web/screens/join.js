// @ts-check
/** Coming in: a name, a PIN where the lead asks for one, and help for the Wi-Fi. */
import { h, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { open } from '../net/live.js';
import { keep, prefs } from '../state/prefs.js';
import { rig } from '../state/rig.js';

/** The code of a scanned link stands where a PIN would: /j/1111. Codes are printed in capitals, so case says nothing. */
const scanned = /^\/j\/([^/]+)/i.exec(location.pathname)?.[1] ?? '';

/** @param {import('../app.js').Stage} stage */
export function show({ main }) {
  const name = h('input', { id: 'name', value: prefs.name, autocomplete: 'given-name', autocapitalize: 'words', maxLength: 24, required: true, enterKeyHint: 'next' });
  const pin = h('input', { id: 'pin', value: decodeURIComponent(scanned), inputMode: 'numeric', autocomplete: 'off', maxLength: 24, enterKeyHint: 'go' });
  const why = h('p', { className: 'why', role: 'alert' });
  const go = h('button', { type: 'submit', className: 'main' }, 'Come in');
  const form = h('form', { noValidate: true },
    h('label', { for: 'name' }, 'Your name, as it is called out'), name,
    h('label', { for: 'pin' }, 'PIN from the lead'), pin,
    h('p', { className: 'hint', id: 'pin-hint' }, 'Leave it empty when nobody gave you one.'),
    why, go);
  pin.setAttribute('aria-describedby', 'pin-hint');
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    if (!name.value.trim()) {
      write(why, 'Say who you are, so that the others know who has which light.');
      name.focus();
      return;
    }
    go.disabled = true;
    call('POST', '/api/join', { name: name.value.trim(), pin: pin.value.trim() })
      .then(() => comeIn(name.value.trim()), (/** @type {Error} */ error) => write(why, error.message))
      .finally(() => (go.disabled = false));
  });
  const help = h('details', null, h('summary', null, 'It does not work?'), h('ul', null,
    h('li', null, 'Your phone may say this Wi-Fi has no internet. Stay connected: the lights do not need it.'),
    h('li', null, 'If a small sign-in window opened by itself, close it and open this address in your real browser.'),
    h('li', null, 'If the page loads for the laptop but for no phone, the Wi-Fi keeps phones apart (\u201cclient isolation\u201d, \u201cguest network\u201d). Ask for it to be switched off.'),
    h('li', null, 'Your phone\u2019s clock, mobile data and screen lock do not matter. If it sleeps, your light stays as it is.')));
  main.append(
    h('div', { className: 'tag welcome' }, h('i', { className: 'eyelet' }), h('h1', null, h('b', null, 'focuscall'), h('span', null, 'Bring up the light you are standing at.'))),
    form,
    h('p', { className: 'caution' }, 'Level 0 is not isolated. Units can move and come up at any time. Site rules and the people in charge come first; this page is no safety device.'),
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
