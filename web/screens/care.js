// @ts-check
/**
 * What stays in sight on every screen about people: that one is aloft, a dark that was called, light that flashes
 * faster. Drawn once, for as long as the page lives.
 */
import { h, mark, once, write } from '../elements/dom.js';
import { buzz, tone } from '../elements/sound.js';
import { command } from '../state/asked.js';
import { aloftAt, fixture, namesOf, rig } from '../state/rig.js';
import { secondsTo } from '../state/values.js';
import { late } from '../words/late.js';

const WORDS = late.care;
const EARLY_MS = 1000; // a yes within this of the question was meant for what lay there before
const EACH_MS = 250;

const forEver = new AbortController().signal;
const me = () => rig.you.value.id;

/** Guarded units that this phone runs just now: it hears their time, too. @type {Set<string>} */
export const running = new Set();

const upWords = h('span', null);
const up = h('p', { className: 'up' }, h('b', { className: 'aloft-mark' }, upWords), h('button', { type: 'button', onclick: once(() => void command({ do: 'aloft', position: null })) }, WORDS.down));
const fastWords = h('span', null);
const fastEnd = h('button', { type: 'button', onclick: once(() => void command({ do: 'lift_flashes', fixture: null })) }, WORDS.end);
const fast = h('p', { className: 'fast' }, fastWords, fastEnd);
const strip = h('section', { id: 'care', 'aria-label': WORDS.label, hidden: true }, up, fast);

const count = h('b', { className: 'seconds', 'aria-hidden': 'true' });
const who = h('b', null);
const yes = h('span', null);
const waits = h('span', null);
const told = h('p', { role: 'alert' }, who, waits, yes);
const answer = (/** @type {boolean} */ isYes) => void command({ do: 'dark_answer', yes: isYes });
const notYet = h('button', { type: 'button', onclick: once(() => answer(false)) });
const ready = h('button', { type: 'button', className: 'main', onclick: once(() => performance.now() - since < EARLY_MS || answer(true)) }, WORDS.ready);
const read = h('button', { type: 'button', onclick: () => dismiss() }, WORDS.read);
const answers = h('div', { className: 'answers' }, notYet, ready, read);
const notice = h('section', { id: 'dark', 'aria-label': WORDS.dark, hidden: true }, count, told, answers);

document.getElementById('status')?.after(strip);
document.getElementById('shelf')?.before(notice);

function drawStrip() {
  const position = rig.people.value[me()]?.aloft ?? null;
  up.hidden = position === null;
  write(upWords, position === null ? '' : WORDS.youAre(position));
  const lifted = rig.lifted.value;
  const unit = lifted && rig.fixtures.get(lifted.fixture)?.value;
  fast.hidden = !unit || secondsTo(lifted.ends) <= 0;
  if (unit) write(fastWords, WORDS.faster(unit.channel, secondsTo(lifted.ends)));
  fastEnd.hidden = rig.you.value.role !== 'lead';
  strip.hidden = up.hidden && fast.hidden;
}

let since = 0;
let call = 0; // when the one that is shown was called, by the laptop's clock
let dismissed = 0;

function dismiss() {
  dismissed = call;
  drawDark();
}

function drawDark() {
  const dark = rig.dark.value;
  notice.hidden = !dark || (dark.refused !== null && dismissed === dark.at);
  if (!dark) return;
  if (dark.at !== call) {
    call = dark.at;
    since = performance.now();
    buzz([200, 120, 200]);
    tone(392, 0.4);
    tone(294, 0.6, 0.45);
  }
  const open = dark.refused === null;
  const left = secondsTo(dark.ends);
  const above = aloftAt();
  const waiting = above.filter((id) => !dark.agreed.includes(id));
  const mine = dark.by === me();
  mark(notice, 'data-open', open);
  count.hidden = !open;
  write(count, left > 0 ? String(left) : '\u2026');
  write(who, open ? (mine ? WORDS.youCall : WORDS.calls(namesOf([dark.by]))) : dark.refused === dark.by ? WORDS.tookBack(namesOf([dark.by])) : WORDS.saidNotYet(namesOf([dark.refused ?? ''])));
  write(waits, !open ? WORDS.off : waiting.length ? WORDS.waits(namesOf(waiting)) : above.length ? WORDS.allYes : WORDS.nobody);
  write(yes, open && dark.agreed.length ? WORDS.saidYes(namesOf(dark.agreed)) : '');
  const asked = above.includes(me());
  ready.hidden = !open || !asked;
  ready.disabled = dark.agreed.includes(me());
  notYet.hidden = !open;
  write(notYet, mine ? WORDS.takeBack : WORDS.notYet);
  read.hidden = open;
  mark(answers, 'data-big', asked && open);
}

/** The time of what this phone has armed, or runs, can be heard: each ten seconds, and the last five. @type {Map<string, number>} */
const heard = new Map();
function hear() {
  for (const id of rig.list.value) {
    const { armed } = rig.fixtures.get(id)?.value ?? {};
    if (!armed || (armed.by !== me() && !running.has(id))) continue;
    const left = secondsTo(armed.ends);
    if (heard.get(id) !== left && left > 0 && (left % 10 === 0 || left <= 5)) tone(left <= 5 ? 587 : 440, 0.08);
    heard.set(id, left);
  }
}

/** Only what runs by the clock is drawn by the clock. */
let timer = 0;
function wind() {
  const runs = rig.dark.value !== null || rig.lifted.value !== null || rig.list.value.some((id) => fixture(id).armed);
  if (runs === !!timer) return;
  clearInterval(timer);
  timer = runs ? window.setInterval(beat, EACH_MS) : 0;
}
function beat() {
  drawStrip();
  drawDark();
  hear();
}

for (const cell of [rig.people, rig.you, rig.lifted, rig.list]) cell.read(drawStrip, forEver);
for (const cell of [rig.people, rig.you, rig.dark]) cell.read(drawDark, forEver);
for (const cell of [rig.dark, rig.lifted, rig.holds]) cell.read(wind, forEver);
