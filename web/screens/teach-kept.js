// @ts-check
/** What has been taught becomes a profile of the show and a fixture in one press of the lead. */
import { h, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { command } from '../state/asked.js';
import { fixture, rig } from '../state/rig.js';
import { onLibrary } from '../words/library.js';

const WORDS = onLibrary.teach;

/** @param {import('../net/contract.js').Teaching} it */
export function kept(it) {
  if (rig.you.value.role !== 'lead') return h('p', { role: 'status' }, WORDS.forLead);
  const channels = rig.list.value.map((id) => fixture(id).channel ?? 0);
  const name = h('input', { id: 'teach-name', value: '', placeholder: WORDS.nameless, maxLength: 60, autocomplete: 'off' });
  const channel = h('input', { id: 'teach-channel', value: String(Math.max(0, ...channels) + 1), inputMode: 'numeric', maxLength: 5, autocomplete: 'off' });
  const why = h('p', { className: 'why', role: 'alert' });
  const keep = async () => {
    const asked = `/api/teach/draft?name=${encodeURIComponent(name.value.trim() || WORDS.nameless)}`;
    const profile = await call('GET', asked);
    await call('POST', '/api/profiles', new Blob([JSON.stringify(profile)]));
    const number = Number(channel.value);
    const where = { universe: it.universe, address: it.first, channel: channel.value.trim() && Number.isInteger(number) ? number : null };
    const added = await call('POST', '/api/fixtures', { profile: profile.key, mode: profile.modes[0].name, ...where });
    await command({ do: 'teach_end' });
    location.hash = `#fixture/${encodeURIComponent(added.id)}`;
  };
  return h('form', { noValidate: true, className: 'keep', onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    keep().catch((/** @type {Error} */ wrong) => write(why, wrong.message));
  } }, h('label', { for: 'teach-name' }, WORDS.name), name, h('label', { for: 'teach-channel' }, WORDS.channel), channel, why,
  h('button', { type: 'submit', className: 'main' }, WORDS.keep));
}
