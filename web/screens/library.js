// @ts-check
/** The profiles of this laptop: searched by typing, starred ones and those of this show first; one of them whole. */
import { h, mark, once, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { bringing } from '../state/bringing.js';
import { rig } from '../state/rig.js';
import { onLibrary } from '../words/library.js';
import { named } from '../words/words.js';
import { makeBring } from './library-bring.js';
import { showOne } from './library-one.js';

/** @typedef {{key: string, name: string, maker: string, kind: string, revised: string, modes: {name: string, footprint: number}[], starred: boolean, fixtures: number}} Found */

const WORDS = onLibrary.library;
const TYPED_MS = 150;
const MOST = 60;
let search = '';

/** @param {import('../app.js').Stage} stage */
export function show(stage) {
  const { main, args, signal } = stage;
  if (args[0]) return void showOne(stage, args[0]);
  const lead = rig.you.value.role === 'lead';
  const field = h('input', { type: 'search', value: search, placeholder: WORDS.findHint, 'aria-label': WORDS.find, autocomplete: 'off', spellcheck: false, enterKeyHint: 'search' });
  const count = h('p', { className: 'count', role: 'status' });
  const list = h('ul', { className: 'profiles' });
  const failed = h('details', { className: 'unread', hidden: true });
  const bring = lead && makeBring(main, signal);
  const to = bring && h('button', { type: 'button', onclick: () => bring.scrollIntoView() }, onLibrary.bring.title);
  main.append(h('div', { className: 'top' }, h('h1', null, WORDS.title), h('div', { className: 'choice' }, to, lead && h('a', { className: 'button', href: '#profile' }, WORDS.draw))), h('div', { className: 'columns' },
    h('section', { 'aria-label': WORDS.title }, field, count, list),
    h('div', { className: 'side' }, bring, failed)));

  let asked = 0;
  const look = async () => {
    const mine = ++asked;
    const [found, all] = await Promise.all([call('GET', `/api/profiles?${new URLSearchParams({ q: search, most: String(MOST) })}`), call('GET', '/api/library')]).catch((/** @type {Error} */ error) => {
      write(count, error.message);
      return [null, null];
    });
    if (signal.aborted || mine !== asked || !found) return;
    list.replaceChildren(...found.slice(0, MOST).map((/** @type {Found} */ one) => row(one, lead)));
    write(count, [search.trim() ? WORDS.found(found.length, found.length >= MOST) : WORDS.count(all.profiles), all.left ? WORDS.left(all.left) : ''].filter(Boolean).join(' '));
    failed.hidden = !all.problems.length;
    if (all.problems.length) failed.replaceChildren(h('summary', null, WORDS.unread(all.problems.length)), h('ul', { className: 'told' }, ...all.problems.map((/** @type {{where: string, why: string}} */ { where, why }) => h('li', null, h('b', null, where), h('span', null, why)))));
  };
  let timer = 0;
  signal.addEventListener('abort', () => clearTimeout(timer));
  field.addEventListener('input', () => {
    search = field.value;
    clearTimeout(timer);
    timer = window.setTimeout(() => void look(), TYPED_MS);
  });
  let going = false;
  bringing.read((now) => {
    if (going && !now?.isGoing) void look();
    going = now?.isGoing ?? false;
  }, signal);
  void look();
}

/** @param {Found} one @param {boolean} lead */
function row(one, lead) {
  const modes = one.modes.map(({ name, footprint }) => WORDS.mode(name, footprint)).join(' · ');
  // What is ours has a name in this phone's language; nothing else of it is here.
  const { name } = named(/** @type {any} */ ({ ...one, short_name: '', modes: [] }));
  return h('li', null,
    starButton(one.key, one.name, one.starred, lead),
    h('a', { href: `#library/${encodeURIComponent(one.key)}` }, h('b', null, name), h('small', null, [one.maker, one.fixtures && WORDS.used(one.fixtures)].filter(Boolean).join(' · ')), h('small', { className: 'modes' }, modes)));
}

/** @param {string} key @param {string} name @param {boolean} on @param {boolean} lead */
export function starButton(key, name, on, lead) {
  const button = h('button', { type: 'button', className: 'star', 'aria-label': WORDS.star(name), 'aria-pressed': String(on), disabled: !lead });
  button.addEventListener('click', once(() => {
    const wanted = button.getAttribute('aria-pressed') !== 'true';
    mark(button, 'aria-pressed', String(wanted));
    call('PUT', `/api/profiles/${encodeURIComponent(key)}/star`, { on: wanted }).catch((/** @type {Error} */ error) => {
      mark(button, 'aria-pressed', String(!wanted));
      say(error.message);
    });
  }));
  return button;
}
