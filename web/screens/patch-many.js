// @ts-check
/** One field of all that are picked at once, counting upwards where that makes sense; and several new fixtures. */
import { h, mark } from '../elements/dom.js';
import { fixture, rig } from '../state/rig.js';
import { onPatch } from '../words/patch.js';
import { columnOf, COLUMNS, countedOn } from './patch-fields.js';
import { offerProfiles } from './patch-profile.js';
import { field, makeProposal, openDialog } from './patch-proposal.js';

/** @typedef {import('./patch-fields.js').Name} Name */
/** @typedef {import('./patch-profile.js').Kind} Kind */

const WORDS = onPatch.patch;

/** A field in which a profile and its mode are searched. @param {string} label @param {(kind: Kind) => void} chosen @param {Kind} [start] */
function kindField(label, chosen, start = { profile: '', mode: '' }) {
  const { input, node } = field('patch-kind', label, '', { placeholder: WORDS.kindHint });
  /** @type {ReturnType<typeof offerProfiles> | null} */
  let offer = null;
  const open = () => {
    offer ??= offerProfiles(input, { kind: start, modesOnly: false, take, host: node });
  };
  const shut = () => {
    offer?.end();
    offer = null;
    mark(input, 'aria-expanded', 'false');
  };
  const take = (/** @type {Kind} */ kind) => {
    shut();
    start = kind;
    input.value = `${rig.profiles.get(kind.profile)?.name ?? kind.profile}, ${kind.mode}`;
    chosen(kind);
  };
  input.addEventListener('focus', open);
  input.addEventListener('input', open);
  input.addEventListener('blur', shut);
  input.addEventListener('keydown', (event) => {
    if (!offer) return;
    const kind = offer.chosen();
    if (offer.key(event) || (event.key === 'Enter' && kind)) event.preventDefault();
    if (event.key === 'Enter' && kind) take(kind);
    else if (event.key === 'Escape') {
      event.preventDefault();
      shut();
    }
  });
  return { input, node };
}

/** @param {string} label @param {(on: boolean) => void} changed */
function toggle(label, changed) {
  const button = h('button', { type: 'button', 'aria-pressed': 'false', onclick: () => {
    const on = button.getAttribute('aria-pressed') !== 'true';
    mark(button, 'aria-pressed', String(on));
    changed(on);
  } }, label);
  return button;
}

/**
 * @param {{ids: string[], column: number, done: (ids: string[]) => void, plan: () => void}} how column: where the cursor is. plan: addresses one behind the other
 */
export function changeMany({ ids, column, done, plan }) {
  let name = /** @type {Name} */ (COLUMNS[column - 1]?.name ?? 'position');
  const here = () => ids.filter((id) => rig.fixtures.has(id));
  const proposal = makeProposal({
    done: (made) => {
      end();
      done(made);
    },
  });
  const value = h('div', { className: 'value' });
  const tabs = COLUMNS.map(({ name: one }) => h('button', { type: 'button', onclick: () => ((name = one), draw()) }, WORDS.columns[one]));
  const draw = () => {
    const it = columnOf(name);
    for (const [at, tab] of tabs.entries()) mark(tab, 'aria-pressed', String(COLUMNS[at]?.name === name));
    proposal.propose([]);
    if (it.flag) {
      const set = (/** @type {boolean} */ on) => proposal.propose(here().map((id) => ({ id, fields: { [name]: on } })));
      return value.replaceChildren(h('div', { className: 'choice' }, h('button', { type: 'button', onclick: () => set(true) }, WORDS.yes), h('button', { type: 'button', onclick: () => set(false) }, WORDS.no)));
    }
    if (name === 'profile' || name === 'mode') {
      return value.replaceChildren(kindField(WORDS.kind, (kind) => proposal.propose(here().map((id) => ({ id, fields: { ...kind } })))).node);
    }
    if (name === 'place') {
      const off = h('button', { type: 'button', onclick: () => proposal.propose(here().map((id) => ({ id, fields: { universe: null, address: null, starts: [] } }))) }, WORDS.unpatch);
      return value.replaceChildren(h('div', { className: 'choice' }, h('button', { type: 'button', className: 'main', onclick: () => (end(), plan()) }, WORDS.plan), off));
    }
    const { input, node } = field('patch-value', it.counts ? WORDS.first : WORDS.value, '', name === 'channel' ? { inputMode: 'numeric' } : {});
    let counting = !!it.counts;
    const look = () => proposal.propose(input.value === '' && it.counts ? [] : here().map((id, at) => {
      const fields = it.read(counting ? countedOn(input.value, at) : input.value, fixture(id));
      return typeof fields === 'string' ? { id, fields: {}, wrong: [fields] } : { id, fields };
    }));
    input.addEventListener('input', look);
    const up = toggle(WORDS.countUp, (on) => {
      counting = on;
      look();
    });
    if (counting) mark(up, 'aria-pressed', 'true');
    value.replaceChildren(node, ...(it.counts ? [up] : []));
    input.focus();
  };
  const { end } = openDialog(WORDS.changeMany(ids.length), 'wide', h('div', { className: 'choice fields', role: 'group', 'aria-label': WORDS.which }, ...tabs), value, proposal.node);
  draw();
}

/** @param {{position: string, done: (ids: string[]) => void}} how position: to begin with */
export function addFixtures({ position, done }) {
  const proposal = makeProposal({
    done: (made) => {
      end();
      done(made);
    },
  });
  const highest = Math.max(0, ...rig.list.value.map((id) => fixture(id).channel ?? 0));
  const inputs = {
    count: field('patch-count', WORDS.count, '1', { inputMode: 'numeric' }),
    position: field('patch-position', WORDS.columns.position, position),
    unit: field('patch-unit', WORDS.firstUnit, ''),
    channel: field('patch-channel', WORDS.firstChannel, String(highest + 1), { inputMode: 'numeric' }),
    purpose: field('patch-purpose', WORDS.columns.purpose, ''),
  };
  /** @type {Kind | null} */
  let kind = null;
  const look = () => {
    const many = Number(inputs.count.input.value);
    if (!kind || !Number.isInteger(many) || many < 1 || many > 500) return proposal.propose([]);
    const chosen = kind;
    proposal.propose(Array.from({ length: many }, (_, at) => {
      const text = (/** @type {keyof typeof inputs} */ name) => inputs[name].input.value.trim();
      const channel = columnOf('channel').read(countedOn(text('channel'), at), /** @type {any} */ ({}));
      const fields = { ...chosen, position: text('position'), purpose: text('purpose'), unit: countedOn(text('unit'), at) };
      return typeof channel === 'string' ? { id: null, fields, wrong: [channel] } : { id: null, fields: { ...fields, ...channel } };
    }));
  };
  const kinds = kindField(WORDS.kind, (chosen) => {
    kind = chosen;
    look();
  });
  for (const { input } of Object.values(inputs)) input.addEventListener('input', look);
  const { end } = openDialog(WORDS.addTitle, 'wide', h('div', { className: 'fields-of' }, kinds.node, ...Object.values(inputs).map(({ node }) => node)), h('p', { className: 'hint' }, WORDS.addHint), proposal.node);
  kinds.input.focus();
}
