// @ts-check
/**
 * A call across the room, over the whole screen until it is seen; and what becomes of one's own. Drawn once, for as
 * long as the page lives. It covers nothing that a thumb is using, and nothing on it flashes.
 */
import { h, mark, once, write } from '../elements/dom.js';
import { buzz, tone } from '../elements/sound.js';
import { command } from '../state/asked.js';
import { namesOf, rig } from '../state/rig.js';
import { spoken } from '../words/call.js';

/** @typedef {import('../net/contract.js').Shout} Shout */

const WORDS = spoken.shout;
/** The most important first. */
export const SHOUTS = /** @type {const} */ (['stop', 'hold', 'work_light', 'next', 'ready']);
const OLD_MS = 60_000; // who comes back after that is not told any more
const EARLY_MS = 700; // a tap within this of its coming was meant for what lay there before
const SHOWN_MS = 60_000; // so long one's own calls stay in sight once they are seen
/** Hertz of the tones of each: what is urgent is lower and longer. @type {Record<string, number[]>} */
const TONES = { stop: [220, 220, 220], hold: [294, 220], work_light: [330, 392], next: [440, 523], ready: [523] };
/** @type {Record<string, number[]>} */
const BUZZ = { stop: [400, 150, 400, 150, 400], hold: [300, 150, 300], work_light: [200, 100, 200], next: [120, 80, 120], ready: [150] };

const forEver = new AbortController().signal;
const me = () => rig.you.value.id;

const word = h('b', { className: 'word' });
const who = h('span', { className: 'who' });
const more = h('span', { className: 'more' });
const seen = h('button', { type: 'button', className: 'main' }, WORDS.seen);
const over = h('section', { id: 'shout', 'aria-label': WORDS.label, hidden: true }, h('p', { role: 'alert' }, who, word, more), seen);
const own = h('section', { id: 'shouts', 'aria-label': WORDS.own, hidden: true });
document.body.append(over);
document.getElementById('status')?.after(own);

let thumbs = 0;
for (const [name, step] of /** @type {const} */ ([['pointerdown', 1], ['pointerup', -1], ['pointercancel', -1]]))
  addEventListener(name, () => {
    thumbs = Math.max(0, thumbs + step);
    if (!thumbs) draw();
  }, { capture: true, passive: true });

/** Numbers of calls that were heard on this phone already. @type {Set<number>} */
const heard = new Set();
/** Those it came back too late for. @type {Set<number>} */
const late = new Set();
let shown = 0;
let since = 0;

/** @returns {Shout[]} what waits for this person, the most important first */
function waiting() {
  const mine = rig.shouts.value.filter(({ number, to, seen: by }) => to.includes(me()) && !by.includes(me()) && !late.has(number));
  return mine.sort((a, b) => rank(a) - rank(b) || a.number - b.number);
}

const rank = (/** @type {Shout} */ { what }) => SHOUTS.findIndex((one) => one === what);

function take() {
  for (const shout of rig.shouts.value) {
    if (heard.has(shout.number) || late.has(shout.number) || !shout.to.includes(me()) || shout.seen.includes(me())) continue;
    if (performance.now() - shout.at >= OLD_MS) {
      late.add(shout.number);
      continue;
    }
    heard.add(shout.number);
    buzz(BUZZ[shout.what] ?? [150]);
    (TONES[shout.what] ?? [440]).forEach((hertz, at) => tone(hertz, 0.3, at * 0.32));
  }
  draw();
}

function draw() {
  const [first, ...others] = waiting();
  if (first && thumbs && shown === 0) return; // drawn once the thumb has let go
  over.hidden = !first;
  document.body.toggleAttribute('data-shouted', !!first);
  if (!first) return void (shown = 0);
  if (first.number !== shown) {
    shown = first.number;
    since = performance.now();
  }
  mark(over, 'data-what', first.what);
  write(who, WORDS.from(first.name));
  write(word, WORDS.words[first.what] ?? first.what);
  write(more, others.length ? WORDS.more(others.length) : '');
}

seen.addEventListener('click', once(() => {
  if (performance.now() - since < EARLY_MS || !shown) return;
  void command({ do: 'shout_seen', number: shown });
}));

let timer = 0;
function drawOwn() {
  clearTimeout(timer);
  const mine = rig.shouts.value.filter(({ person, to, seen: by, at }) => person === me() && (to.some((one) => !by.includes(one)) || performance.now() - at < SHOWN_MS));
  own.hidden = !mine.length;
  own.replaceChildren(...mine.slice(-3).map(({ what, to, seen: by }) => {
    const not = to.filter((one) => !by.includes(one));
    const line = h('p', null, h('b', null, WORDS.words[what] ?? what), h('span', null, not.length ? WORDS.notSeen(namesOf(not)) : WORDS.seenBy(namesOf(by))));
    mark(line, 'data-open', not.length > 0);
    return line;
  }));
  if (mine.length) timer = window.setTimeout(drawOwn, 5000);
}

for (const cell of [rig.shouts, rig.you]) cell.read(take, forEver);
for (const cell of [rig.shouts, rig.you, rig.people]) cell.read(drawOwn, forEver);
