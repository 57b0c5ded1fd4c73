// @ts-check
/** Looks: bring one back, keep what is on stage, name the one everything falls back to. */
import { h, mark, once, write } from '../elements/dom.js';
import { holdButton } from '../elements/fc-hold.js';
import { redraw } from '../elements/rows.js';
import { say } from '../elements/say.js';
import { call } from '../net/http.js';
import { fixtureOfChannel, mine, rig } from '../state/rig.js';
import { spoken } from '../words/call.js';
import { number, words } from '../words/words.js';

const FADES_S = [0, 2, 5, 10];
let fadeS = 2;

/** @param {import('../app.js').Stage} stage */
export function show({ main, signal }) {
  const role = rig.you.value.role;
  const list = h('div', { className: 'looks', role: 'list', 'aria-label': spoken.looks.title });
  const empty = h('p', { className: 'empty' }, spoken.looks.empty);
  const fades = FADES_S.map((seconds) => h('button', { type: 'button', onclick: () => ((fadeS = seconds), drawFades()) }, seconds ? `${number(seconds)} s` : spoken.looks.atOnce));
  const drawFades = () => fades.forEach((button, at) => mark(button, 'aria-pressed', String(FADES_S[at] === fadeS)));
  drawFades();
  const keepIt = h('button', { type: 'button', className: 'main', onclick: () => askToKeep() }, spoken.looks.keep);
  const theirs = h('button', { type: 'button', hidden: true }, spoken.theirs.keep);
  if (role !== 'house') void import('./look-console.js').then(({ offer }) => offer(theirs, askName, signal));
  main.append(h('h1', null, spoken.looks.title), list, empty, h('div', { className: 'dock' }, h('p', { id: 'fade' }, spoken.looks.fade), h('div', { className: 'choice', role: 'group', 'aria-labelledby': 'fade' }, ...fades), role === 'house' ? h('p', { className: 'hint' }, spoken.looks.house) : keepIt, theirs));

  const draw = () => {
    const looks = Object.entries(rig.looks.value);
    // What is unfolded stays so.
    redraw(list, looks.map(([id, look]) => [id, { id, look, base: rig.baseline.value === id }]), ({ id, look, base }, old) => makeLook(id, look, base, role, !!old?.querySelector('details')?.open));
    empty.hidden = looks.length > 0;
  };
  rig.looks.read(draw, signal);
  rig.baseline.read(draw, signal);
}

/** @param {Promise<unknown>} asked */
const orSay = (asked) => asked.catch((/** @type {Error} */ error) => say(error.message));

/**
 * @param {string} id
 * @param {import('../net/contract.js').Look} look
 * @param {boolean} base
 * @param {string} role
 * @param {boolean} open what else can be done with it is in sight
 */
function makeLook(id, look, base, role, open) {
  const recall = once(() => void orSay(call('POST', `/api/looks/${id}/recall`, { fade_s: fadeS })));
  const go = h('button', { type: 'button', className: 'recall', onclick: recall }, h('b', null, look.name), h('small', null, words.count.fixtures(look.fixtures) + (base ? ` · ${spoken.looks.baseline}` : '')));
  const row = h('div', { className: 'look', role: 'listitem', 'data-baseline': base ? '' : null }, go);
  if (role === 'house') return row;
  const rename = () => {
    askName(spoken.looks.anotherName, look.name, (name) => void orSay(call('PATCH', `/api/looks/${id}`, { name })));
  };
  const more = h('details', { open }, h('summary', null, spoken.looks.more), h('div', { className: 'more' },
    role === 'lead' && h('button', { type: 'button', onclick: () => void orSay(call('PUT', '/api/looks/baseline', { look: base ? null : id })) }, base ? spoken.looks.noBaseline : spoken.looks.makeBaseline),
    h('button', { type: 'button', onclick: rename }, spoken.looks.rename),
    role === 'lead' && h('button', { type: 'button', onclick: () => void import('./look-update.js').then(({ askUpdate }) => askUpdate(id, look.name)) }, spoken.update.take),
    holdButton(spoken.looks.throwAway, spoken.looks.throwAwayWords, () => void orSay(call('DELETE', `/api/looks/${id}`)))));
  row.append(more);
  return row;
}

function askToKeep() {
  const held = mine();
  const channels = h('input', { id: 'channels', placeholder: '1-8, 21', autocomplete: 'off', inputMode: 'text' });
  const which = h('output', { className: 'hint' });
  const chosen = () => idsOf(channels.value);
  channels.addEventListener('input', () => {
    const { ids, wrong } = chosen();
    write(which, wrong.length ? spoken.looks.noChannel(wrong.join(', ')) : channels.value.trim() ? words.count.fixtures(ids.length) : spoken.looks.wholeRig);
  });
  write(which, spoken.looks.wholeRig);
  const fill = (/** @type {string} */ text) => {
    channels.value = text;
    channels.dispatchEvent(new Event('input'));
  };
  const buttons = h('div', { className: 'choice' },
    h('button', { type: 'button', onclick: () => fill('') }, spoken.looks.whole),
    h('button', { type: 'button', disabled: !held.length, onclick: () => fill(held.map((id) => rig.fixtures.get(id)?.value.channel).join(', ')) }, spoken.looks.held(held.length)));
  askName(spoken.looks.keep, '', (name) => {
    const { ids } = chosen();
    void orSay(call('POST', '/api/looks', { name, fixtures: channels.value.trim() ? ids : null }));
  }, [buttons, h('label', { for: 'channels' }, spoken.looks.only), channels, which], () => {
    const { wrong, ids } = chosen();
    return wrong.length ? spoken.looks.noChannel(wrong.join(', ')) : channels.value.trim() && !ids.length ? spoken.looks.none : '';
  });
}

/** @param {string} text "1-8, 21" @returns {{ids: string[], wrong: string[]}} */
function idsOf(text) {
  /** @type {Set<string>} */
  const ids = new Set();
  /** @type {string[]} */
  const wrong = [];
  for (const part of text.split(/[,;\s]+/).filter(Boolean)) {
    const [, from = '', to = from] = /^(\d+)(?:-(\d+))?$/.exec(part) ?? [];
    const found = rig.list.value.filter((id) => {
      const channel = rig.fixtures.get(id)?.value.channel ?? -1;
      return from !== '' && channel >= Number(from) && channel <= Number(to);
    });
    if (!found.length || (from === to && !fixtureOfChannel(Number(from)))) wrong.push(part);
    for (const id of found) ids.add(id);
  }
  return { ids: [...ids], wrong };
}

/**
 * @param {string} title
 * @param {string} name
 * @param {(name: string) => void} done
 * @param {HTMLElement[]} [more]
 * @param {() => string} [wrong] a sentence why not, or ''
 */
function askName(title, name, done, more = [], wrong = () => '') {
  const field = h('input', { id: 'look-name', value: name, maxLength: 60, autocomplete: 'off', enterKeyHint: 'done' });
  const why = h('p', { className: 'why', role: 'alert' });
  const end = () => {
    dialog.close();
    dialog.remove();
  };
  const form = h('form', { noValidate: true }, h('h2', null, title), h('label', { for: 'look-name' }, spoken.looks.name), field, ...more, why,
    h('div', { className: 'ends' }, h('button', { type: 'button', onclick: end }, words.keypad.notNow), h('button', { type: 'submit', className: 'main' }, spoken.looks.save)));
  const dialog = h('dialog', { 'aria-label': title }, form);
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    const no = field.value.trim() ? wrong() : spoken.looks.nameless;
    if (no) return write(why, no);
    end();
    done(field.value.trim());
  });
  dialog.addEventListener('close', () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}
