// @ts-check
/** A profile drawn up: from a pasted chart, a blank or a copy; checked while it is edited, tried, kept. */
import { h, mark, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { begin, blank, changed, check, copyOf, draft, endTrying, keyOf, nothingAt, problems, report, tryOn, trying } from '../state/drafting.js';
import { fixture, rig } from '../state/rig.js';
import { wordsOf } from '../state/words.js';
import { onLibrary } from '../words/library.js';
import { makeForm } from './profile-control.js';

/** @typedef {import('../state/drafting.js').Draft} Draft */
/** @typedef {import('../state/drafting.js').Control} Control */

const WORDS = onLibrary.draft;
let modeAt = 0;

/** @param {import('../app.js').Stage} stage */
export async function show({ main, args: [from, key], signal }) {
  if (rig.you.value.role !== 'lead') return void main.append(h('h1', null, WORDS.title), h('p', { className: 'empty' }, WORDS.leadOnly));
  if (from === 'copy' && key) {
    const profile = await call('GET', `/api/profiles/${encodeURIComponent(key)}`).catch((/** @type {Error} */ error) => say(error.message));
    if (profile) begin(copyOf(profile));
    location.replace('#profile');
    return;
  }
  let drawn = /** @type {boolean | null} */ (null);
  draft.read((now) => {
    if (drawn === !!now) return;
    drawn = !!now;
    main.replaceChildren(...(now ? edit(now, signal) : start(signal)));
    if (now) void check();
  }, signal);
}

/** @param {string} id @param {string} label @param {string} value @param {Record<string, unknown>} [more] */
export function field(id, label, value, more = {}) {
  const input = h('input', { id, value, autocomplete: 'off', spellcheck: false, ...more });
  return { input, node: h('div', { className: 'field' }, h('label', { for: id }, label), input) };
}

const back = () => h('a', { className: 'button', href: '#library' }, onLibrary.library.back);

/** @param {AbortSignal} signal */
function start(signal) {
  const name = field('draft-name', WORDS.name, '', { maxLength: 80 });
  const maker = field('draft-maker', WORDS.maker, '', { maxLength: 80 });
  const chart = h('textarea', { id: 'chart', rows: 10, spellcheck: false, placeholder: WORDS.example });
  const slots = field('draft-slots', WORDS.slots, '4', { inputMode: 'numeric', maxLength: 3 });
  const told = h('ul', { className: 'told' });
  const why = h('p', { className: 'why', role: 'alert' });
  const read = async () => {
    const answer = await call('POST', '/api/profiles/draft', { chart: chart.value, name: name.input.value.trim(), maker: maker.input.value.trim() }).catch((/** @type {Error} */ error) => void write(why, error.message));
    if (!answer) return;
    if (answer.profile) return begin(answer.profile, answer.report);
    write(why, WORDS.unread);
    told.replaceChildren(...lines(answer.report));
  };
  const empty = () => {
    const count = Number(slots.input.value);
    if (Number.isInteger(count) && count >= 1 && count <= 512) begin(blank(count, name.input.value.trim() || WORDS.unnamed, maker.input.value.trim() || WORDS.own));
    else write(why, WORDS.wrongSlots);
  };
  modeAt = 0;
  const left = holdButton(WORDS.putBack, WORDS.putBackWords, () => void endTrying().catch((/** @type {Error} */ error) => say(error.message)));
  const tried = h('p', null);
  trying.read((it) => {
    const there = it && rig.fixtures.has(it.fixture);
    tried.hidden = left.hidden = !there;
    write(tried, there ? WORDS.stillTried(String(fixture(it.fixture).channel ?? '')) : '');
  }, signal);
  return [
    h('div', { className: 'top' }, h('h1', null, WORDS.title), back()),
    h('div', { className: 'pair' }, name.node, maker.node), tried, left,
    h('div', { className: 'field' }, h('label', { for: 'chart' }, WORDS.chart), chart),
    h('p', { className: 'hint' }, WORDS.chartHint), why, told,
    h('button', { type: 'button', className: 'main', onclick: () => void read() }, WORDS.read),
    h('section', { className: 'else', 'aria-labelledby': 'else' }, h('h2', { id: 'else' }, WORDS.otherwise), slots.node, h('button', { type: 'button', onclick: empty }, WORDS.blank), h('p', { className: 'hint' }, WORDS.copyHint)),
  ];
}

/** @param {import('../state/drafting.js').Problem[]} found */
const lines = (found) => found.map(({ where, why }) => h('li', null, where && h('b', null, `${where} `), why));

/** @param {Draft} now @param {AbortSignal} signal */
function edit(now, signal) {
  const title = h('h1', null, now.name);
  const key = field('draft-key', WORDS.key, now.key, { maxLength: 79 });
  const name = field('draft-name', WORDS.name, now.name, { maxLength: 80 });
  const maker = field('draft-maker', WORDS.maker, now.maker, { maxLength: 80 });
  const rename = () => {
    const own = now.key === keyOf(now.maker, now.name); // not one that somebody typed
    [now.name, now.maker] = [name.input.value.trim() || WORDS.unnamed, maker.input.value.trim() || WORDS.own];
    now.short_name = now.name.slice(0, 20);
    if (own) now.key = key.input.value = keyOf(now.maker, now.name);
    write(title, now.name);
    changed();
  };
  for (const { input } of [name, maker]) input.addEventListener('input', rename);
  key.input.addEventListener('input', () => ((now.key = key.input.value.trim()), changed()));

  modeAt = Math.min(modeAt, now.modes.length - 1);
  const mode = () => /** @type {import('../state/drafting.js').Mode} */ (now.modes[modeAt]);
  const count = h('p', { className: 'count', role: 'status' });
  const wrong = h('ul', { className: 'told' });
  const list = h('ul', { className: 'drawn' });
  /** @type {Map<Control, {node: HTMLElement, draw: (found: string[]) => void}>} */
  const rows = new Map();
  const draw = () => {
    const controls = [...mode().controls].sort((a, b) => (a.start ?? 1) - (b.start ?? 1) || (a.offset[0] ?? 0) - (b.offset[0] ?? 0));
    const found = problems.value ?? [];
    const of = (/** @type {Control} */ control) => found.filter(({ where }) => where === `mode ${mode().name}, ${keyIn(control)}`).map(({ why }) => why);
    const shown = controls.map((control) => {
      const row = rows.get(control) ?? makeRow(control);
      rows.set(control, row);
      row.draw(of(control));
      return row.node;
    });
    // Not under somebody's fingers: while a slot is typed its control stays where it is.
    const isBusy = list.contains(document.activeElement) && list.childElementCount === shown.length && shown.every((node) => node.parentElement === list);
    if (!isBusy && (shown.some((node, at) => list.children[at] !== node) || list.childElementCount !== shown.length)) list.replaceChildren(...shown);
    const mine = new Set(controls.flatMap((one) => of(one).length ? [`mode ${mode().name}, ${keyIn(one)}`] : []));
    wrong.replaceChildren(...lines(found.filter(({ where }) => !mine.has(where))));
    write(count, [WORDS.footprint(mode().footprint), problems.value === null ? WORDS.checking : WORDS.wrong(found.length)].join(' '));
    for (const button of ends) button.disabled = found.length > 0;
  };
  /** @param {Control} control */
  const makeRow = (control) => row(control, () => {
    mode().controls.splice(mode().controls.indexOf(control), 1);
    changed();
  });
  const add = h('button', { type: 'button', onclick: () => {
    mode().controls.push(nothingAt(Math.min(512, mode().footprint + 1)));
    changed();
  } }, WORDS.add);
  const modes = h('div', { className: 'choice', role: 'group', 'aria-label': WORDS.mode }, ...now.modes.map((one, at) => h('button', { type: 'button', onclick: () => {
    modeAt = at;
    pick();
  } }, one.name)));
  const pick = () => {
    [...modes.children].forEach((button, at) => mark(button, 'aria-pressed', String(at === modeAt)));
    rows.clear();
    list.replaceChildren();
    draw();
  };
  modes.hidden = now.modes.length < 2;

  const keep = h('button', { type: 'button', className: 'main', onclick: () => void save(now) }, WORDS.keep);
  const { node: trial, go } = makeTrial(now, () => mode().name, signal);
  const ends = [keep, go];
  const chart = h('details', { hidden: !report.value.length }, h('summary', null, WORDS.report(report.value.length)), h('ul', { className: 'told' }, ...lines(report.value)));
  chart.open = report.value.length > 0;
  problems.read(draw, signal);
  draft.read((it) => it === now && draw(), signal);
  pick();
  return [
    h('div', { className: 'top' }, title, back()),
    h('div', { className: 'pair' }, name.node, maker.node), key.node, chart, modes, count, wrong, list, add, trial,
    h('section', { className: 'keeping', 'aria-labelledby': 'keeping' }, h('h2', { id: 'keeping' }, WORDS.keeping), keep,
      h('button', { type: 'button', onclick: () => download(now) }, WORDS.file),
      holdButton(WORDS.drop, WORDS.dropWords, () => begin(null))),
  ];
}

/** As the laptop names it in what it finds. @param {Control} control */
function keyIn({ attribute, cell }) {
  return cell ? `${attribute}/${cell}` : attribute;
}

/** @param {Control} control @param {() => void} remove */
function row(control, remove) {
  const [slots, what, guard, why] = [h('b', { className: 'slots' }), h('span', { className: 'what' }), h('span', { className: 'guarded' }), h('ul', { className: 'why-list' })];
  const folded = h('details', null, h('summary', null, slots, what, guard));
  folded.addEventListener('toggle', () => folded.open && folded.childElementCount === 1 && folded.append(makeForm(control, remove)));
  return {
    node: h('li', null, folded, why),
    /** @param {string[]} found */
    draw(found) {
      write(slots, control.offset.join(' + ') || onLibrary.library.virtual);
      write(what, [wordsOf(control.attribute, control.functions[0]?.name), control.cell].filter(Boolean).join(', '));
      guard.hidden = !control.guarded;
      write(guard, control.guarded ? (onLibrary.draft.guards[control.guarded.reason] ?? '') : '');
      why.replaceChildren(...found.map((text) => h('li', { className: 'why' }, text)));
    },
  };
}

/** @param {Draft} now @param {() => string} mode @param {AbortSignal} signal */
function makeTrial(now, mode, signal) {
  const ids = rig.list.value;
  const choose = h('select', { id: 'try-on', 'aria-label': WORDS.which }, ...ids.map((id) => h('option', { value: id }, [fixture(id).channel, fixture(id).position, fixture(id).unit].filter((part) => part != null && part !== '').join(' · '))));
  const failed = (/** @type {Error} */ error) => say(error.message);
  const go = holdButton(WORDS.tryIt, WORDS.tryWords, () => void tryOn(choose.value, mode()).catch(failed));
  const drive = h('a', { className: 'button main' }, WORDS.drive);
  const end = holdButton(WORDS.putBack, WORDS.putBackWords, () => void endTrying().catch(failed));
  const told = h('p', { className: 'hint' });
  trying.read((it) => {
    const there = it && rig.fixtures.has(it.fixture);
    if (it) choose.value = it.fixture;
    choose.disabled = !!there;
    drive.hidden = end.hidden = !there;
    drive.href = it ? `#fixture/${it.fixture}` : '';
    write(told, there ? WORDS.isTried(String(fixture(it.fixture).channel ?? '')) : WORDS.tryHint);
    go.setAttribute('label', there ? WORDS.tryAgain : WORDS.tryIt);
  }, signal);
  return { node: h('section', { className: 'trial', 'aria-labelledby': 'trial' }, h('h2', { id: 'trial' }, WORDS.trial), told, choose, go, drive, end), go };
}

/** @param {Draft} now */
async function save(now) {
  try {
    await call('POST', '/api/profiles', new Blob([JSON.stringify(now)]));
    const mode = now.modes[modeAt]?.name ?? '';
    if (trying.value) await endTrying({ profile: now.key, mode });
    say(WORDS.kept(now.name));
    location.hash = `#library/${encodeURIComponent(now.key)}`;
    begin(null);
  } catch (error) {
    say(/** @type {Error} */ (error).message);
  }
}

/** @param {Draft} now */
function download(now) {
  const href = URL.createObjectURL(new Blob([JSON.stringify(now, null, 2)], { type: 'application/json' }));
  h('a', { href, download: `${now.key}.json` }).click();
  setTimeout(() => URL.revokeObjectURL(href), 10_000);
}
