// @ts-check
/** What a beam is to do: typed once, read large by whoever is at the unit; and how it was focused. */
import { h, mark, once, write } from '../elements/dom.js';
import { photoButton, pictureOf } from '../elements/photo.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { fixture, modeOf, rig } from '../state/rig.js';
import { markOf } from '../state/turn.js';
import { fractionOf, isOpen, valueText } from '../state/values.js';
import { wordsOf } from '../state/words.js';
import { spoken } from '../words/call.js';
import { words } from '../words/words.js';

const WORDS = spoken.note;
const FIELDS = /** @type {const} */ (['spot', 'edge', 'size', 'top', 'bottom', 'left', 'right', 'colour', 'template', 'words']);
const LONGEST = 60;
const LONGEST_WORDS = 200; // characters: as the server has it

/** @param {string} id @returns {[string, string][]} what is written, with what it is called */
function written(id) {
  const note = rig.fixtures.get(id)?.value.focus?.note ?? {};
  return FIELDS.flatMap((field) => (note[field] ? [/** @type {[string, string]} */ ([field === 'words' ? '' : WORDS.fields[field], note[field]])] : []));
}

/** The note, large; nothing where nobody has written one. @param {() => string} which fixture @param {AbortSignal} signal */
export function noteLines(which, signal) {
  const list = h('dl', { className: 'note-lines', 'aria-label': WORDS.title });
  let end = new AbortController();
  let shown = '\u0000';
  const draw = () => {
    const lines = written(which());
    list.hidden = !lines.length;
    const key = JSON.stringify(lines);
    if (key === shown) return;
    shown = key;
    list.replaceChildren(...lines.map(([name, text]) => h('div', null, h('dt', null, name), h('dd', null, text))));
  };
  const turn = () => {
    end.abort();
    end = new AbortController();
    rig.fixtures.get(which())?.read(draw, end.signal);
    draw();
  };
  signal.addEventListener('abort', () => end.abort());
  turn();
  return { node: list, turn };
}

/** Write it, or change it. @param {string} id */
export function askNote(id) {
  if (!rig.fixtures.has(id)) return;
  const it = fixture(id);
  const note = it.focus?.note ?? {};
  const lead = rig.you.value.role === 'lead';
  const field = (/** @type {string} */ name, /** @type {string} */ value, most = LONGEST) => h('input', { id: `note-${name}`, value, maxLength: most, autocomplete: 'off', enterKeyHint: 'next', name });
  const line = (/** @type {string} */ name, /** @type {string} */ label, /** @type {HTMLInputElement} */ input, /** @type {string[]} */ chips = []) =>
    h('div', { className: `line ${name}` }, h('label', { for: input.id }, label), input, chips.length > 0 && h('div', { className: 'choice' }, ...chips.map((chip) => h('button', { type: 'button', onclick: () => (input.value = chip) }, chip))));
  const inputs = FIELDS.map((name) => field(name, note[name] ?? '', name === 'words' ? LONGEST_WORDS : LONGEST));
  const lines = inputs.map((input, at) => line(FIELDS[at] ?? '', WORDS.fields[FIELDS[at] ?? 'words'] ?? '', input, WORDS.chips[FIELDS[at] ?? ''] ?? []));
  const purpose = field('purpose', it.purpose);
  const form = h('form', { noValidate: true }, h('h2', null, WORDS.of(it.channel)), lead && line('purpose', WORDS.purpose, purpose), h('div', { className: 'fields' }, ...lines),
    h('div', { className: 'ends' }, h('button', { type: 'button', onclick: () => dialog.close() }, words.keypad.notNow), h('button', { type: 'submit', className: 'main' }, WORDS.keep)));
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    dialog.close();
    const now = Object.fromEntries(inputs.map((input) => [input.name, input.value.trim()]));
    const other = Object.fromEntries(Object.entries(now).filter(([name, text]) => text !== (note[name] ?? '')));
    if (Object.keys(other).length) void command({ do: 'focus_note', fixture: id, note: other });
    if (lead && purpose.value.trim() !== it.purpose) void call('PATCH', `/api/fixtures/${encodeURIComponent(id)}`, { purpose: purpose.value.trim() }).catch((/** @type {Error} */ error) => say(error.message));
  });
  const dialog = h('dialog', { className: 'call-note', 'aria-label': WORDS.of(it.channel) }, form);
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

/** How it was when it was done, and its photos. @param {string} id @param {AbortSignal} signal */
export function asFocused(id, signal) {
  const who = h('p', { className: 'count' });
  const values = h('p', { className: 'values' });
  const back = h('button', { type: 'button', onclick: once(() => void bring()) }, WORDS.bringBack);
  const pictures = h('div', { className: 'pictures' });
  /** @type {Record<string, {raw: number}>} */
  let kept = {};
  const bring = () => command({ do: 'set', fixture: id, values: kept });
  const fetchValues = async () => {
    const told = await call('GET', `/api/focus/${encodeURIComponent(id)}`).catch(() => null);
    if (!told || signal.aborted) return;
    kept = told.values;
    write(values, inWords(id, kept));
    back.disabled = !Object.keys(kept).length;
  };
  const fetchPhotos = async () => {
    const told = await call('GET', `/api/photos?fixture=${encodeURIComponent(id)}`).catch(() => []);
    if (signal.aborted) return;
    pictures.replaceChildren(...told.slice(0, 3).map((/** @type {{photo: string, name?: string}} */ one) => h('a', { href: pictureOf(one.photo), target: '_blank' }, h('img', { src: pictureOf(one.photo), alt: WORDS.picture, loading: 'lazy' }))));
  };
  const photo = photoButton(id, () => void fetchPhotos());
  back.disabled = true;
  let at = -1;
  rig.fixtures.get(id)?.read((it) => {
    const { focus } = it;
    write(who, markOf(id) === 'done' && focus ? WORDS.doneBy(focus.by, new Date(focus.at * 1000).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' })) : focus?.kept ? WORDS.keptFrom : WORDS.notYet);
    mark(who, 'data-done', markOf(id) === 'done');
    values.hidden = back.hidden = !focus?.kept;
    if (focus?.kept && focus.at !== at) void fetchValues();
    at = focus?.at ?? -1;
  }, signal);
  void fetchPhotos();
  return h('section', { className: 'as-focused', 'aria-label': WORDS.asFocused }, h('h2', null, WORDS.asFocused), who, values, back, photo.node, pictures);
}

/** @param {string} id @param {Record<string, {raw: number}>} kept @returns {string} "Level 50 %, Pan -12°" */
function inWords(id, kept) {
  const mode = modeOf(fixture(id));
  if (!mode) return '';
  const of = (/** @type {string} */ key) => {
    const control = mode.controls.find((one) => one.key === key);
    return control ? fractionOf(control, kept[key]?.raw ?? control.home) : 0;
  };
  const said = mode.controls.flatMap((control) => {
    const raw = kept[control.key]?.raw;
    if (raw === undefined || raw === control.home) return [];
    const fn = control.functions.find((one) => one.dmx[0] <= raw && raw <= one.dmx[1] && isOpen(one, mode, of));
    const range = fn?.ranges?.find((one) => one.dmx[0] <= raw && raw <= one.dmx[1] && one.name);
    return [`${wordsOf(control.attribute, fn?.name)}${control.cell ? ` ${control.cell}` : ''} ${range ? range.name : valueText(control, fn, fractionOf(control, raw)).short}`];
  });
  return said.join(', ');
}
