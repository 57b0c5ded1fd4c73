// @ts-check
/** The row under the thumb: back, undo, light up, take or let go, next; with the light going along where that is wanted. */
import { h, mark, once, write } from '../elements/dom.js';
import { say } from '../elements/say.js';
import { command } from '../state/asked.js';
import { choose, prefs } from '../state/prefs.js';
import { fixture, modeOf, rig } from '../state/rig.js';
import { words } from '../words/words.js';

/** @typedef {import('./fixture.js').FixtureCell} FixtureCell */

const WORDS = words.fixture;

/**
 * @param {string} id
 * @param {boolean} moves
 * @param {boolean} locked
 * @param {{button: HTMLButtonElement, forget: () => void}} undo
 * @param {FixtureCell} cell
 * @param {(id: string) => void} turnTo
 * @param {boolean} scanned off its label: what somebody wants there is its light, and one large button brings it
 * @param {AbortSignal} signal
 */
export function makeHandRow(id, moves, locked, undo, cell, turnTo, scanned, signal) {
  // Whoever is at this unit in a focus call steps through its list; the sheet follows once the laptop has stepped.
  const inCall = rig.now.value[rig.you.value.id] === id;
  let [last, after] = /** @type {(string | undefined)[]} */ (neighbours(id));
  const turn = (/** @type {'back' | 'next'} */ way) => {
    const to = way === 'next' ? after : last;
    if (!to || performance.now() - lastTurn < BOUNCE_MS) return;
    lastTurn = performance.now();
    if (inCall) return void step(way === 'next' ? { do: 'focus_next', after: id, mark: 'done' } : { do: 'focus_at', fixture: to });
    if (prefs.withLight.value) void handOver(id, to);
    turnTo(to);
  };
  const go = (/** @type {'back' | 'next'} */ way) => {
    const number = h('b', null);
    const node = h('a', { className: 'button step', role: 'link' }, h('small', null, WORDS[way]), number);
    node.addEventListener('click', (event) => {
      event.preventDefault();
      turn(way);
    });
    const draw = () => {
      const to = way === 'next' ? after : last;
      const label = way === 'next' ? (to ? WORDS.nextIs(fixture(to).channel) : WORDS.noNext) : to ? WORDS.previousIs(fixture(to).channel) : WORDS.noPrevious;
      node.setAttribute('aria-label', label);
      mark(node, 'href', to ? `#fixture/${to}` : null);
      mark(node, 'aria-disabled', to ? null : 'true');
      write(number, to ? String(fixture(to).channel) : rig.isWhole ? WORDS.end : '');
    };
    draw();
    return { node, draw };
  };
  const [back, next] = [go('back'), go('next')];
  const lead = (/** @type {(string | undefined)[]} */ ways) => {
    [last, after] = ways;
    back.draw();
    next.draw();
  };
  if (inCall) void import('../state/turn.js').then(({ before, following }) => {
    const draw = () => signal.aborted || lead([before(rig.you.value.id), following(rig.you.value.id)]);
    for (const cell of [rig.now, rig.order, rig.holds]) cell.read(draw, signal);
  }, () => null);
  else rig.list.read(() => lead(neighbours(id)), signal);
  const lightUp = async () => {
    const answer = await command(moves ? { do: 'light_up', fixture: id, as_it_hangs: true } : { do: 'light_up', fixture: id });
    if (answer.is !== 'ok') return;
    undo.forget();
    if (!light.classList.contains('scanned')) return;
    light.classList.remove('scanned');
    write(called, WORDS.lightUp);
    history.replaceState(null, '', `#fixture/${encodeURIComponent(id)}`);
  };
  const called = h('b', null, scanned ? WORDS.lightUpThis(cell.value.channel ?? cell.value.unit) : WORDS.lightUp);
  const light = h('button', { type: 'button', className: scanned ? 'main scanned' : 'main', disabled: locked, onclick: once(() => void lightUp()) }, called, moves ? h('small', null, WORDS.asItHangs) : null);
  const hand = h('button', { type: 'button', className: 'hand', disabled: locked });
  const press = once(() => {
    if (cell.value.holder === rig.you.value.id) void command({ do: 'let_go', fixture: id }).then(() => undo.forget());
    else void command({ do: 'take', fixture: id });
  });
  hand.addEventListener('click', press);
  cell.read((it) => write(hand, it.holder === rig.you.value.id ? WORDS.letGo : WORDS.take), signal);
  // A one-button remote, as for a page of slides: its key is "next" while no control has the focus.
  const remote = (/** @type {KeyboardEvent} */ event) => {
    const { target, key, repeat } = event;
    const page = key === 'PageDown' || key === 'PageUp';
    const free = target === document.body || target === document.getElementById('screen') || (page && target instanceof Node && row.contains(target));
    if (!free || repeat || !(page || key === 'Enter' || key === ' ')) return;
    event.preventDefault();
    turn(key === 'PageUp' ? 'back' : 'next');
  };
  document.addEventListener('keydown', remote, { signal });
  const row = h('div', { className: 'hand-row' }, back.node, undo.button, light, hand, next.node);
  return row;
}

/** One step in the focus call; where somebody else has the unit, it asks. @param {import('../state/asked.js').Command} asked */
export async function step(asked) {
  const answer = await command(asked, true);
  if (answer.is === 'ok') return;
  if (answer.ask === 'take') say(answer.why, [{ label: words.app.takeIt, main: true, press: () => void step({ ...asked, over: true }) }]);
  else say(answer.why);
}

/** Gloves fire twice, and the second time another sheet's NEXT lies under the thumb (common practice, no source). */
const BOUNCE_MS = 400;
let lastTurn = -BOUNCE_MS;

/** The next one up, and only then this one down: nobody is left in the dark between. @param {string} from @param {string} to */
async function handOver(from, to) {
  const it = fixture(to);
  if (it.guarded) return;
  const hangs = modeOf(it)?.controls.some(({ attribute }) => /^(Pan|Tilt)/.test(attribute));
  const answer = await command({ do: 'light_up', fixture: to, ...(hangs ? { as_it_hangs: true } : {}) });
  if (answer.is === 'ok' && rig.fixtures.get(from)?.value.holder === rig.you.value.id) void command({ do: 'let_go', fixture: from });
}

/** @param {AbortSignal} signal */
export function withLightSwitch(signal) {
  const button = h('button', { type: 'button', className: 'with-light', role: 'switch', onclick: () => choose('withLight', prefs.withLight.value ? '' : '1') }, WORDS.withLight);
  prefs.withLight.read((on) => mark(button, 'aria-checked', String(!!on)), signal);
  return button;
}

/** The fixtures before and after this one: in focus order when it is in there, else as they hang. @param {string} id */
function neighbours(id) {
  const order = rig.order.value.filter((one) => rig.fixtures.has(one));
  const line = order.includes(id) ? order : rig.list.value;
  const at = line.indexOf(id);
  return [line[at - 1], line[at + 1]];
}

