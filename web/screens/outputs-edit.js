// @ts-check
/** Where one universe goes, edited in place: what it would do is said by the laptop before it is done. */
import { h, mark, once, write } from '../elements/dom.js';
import { call } from '../net/http.js';
import { onNetwork } from '../words/network.js';
import { said, words } from '../words/words.js';

/** @typedef {import('./outputs.js').Output} Output */
/** @typedef {import('./outputs.js').OutputTold} OutputTold */

const WORDS = onNetwork.outputs;
const TO = /** @type {const} */ ({ sacn: ['multicast', 'host', 'multicast6'], artnet: ['nodes', 'host', 'broadcast'] });
const PROTOCOLS = /** @type {[Output['by'], string][]} */ ([['sacn', 'sACN'], ['artnet', 'Art-Net']]);
const TYPED_MS = 250;
const MOST_HZ = 44;
const MOST_OUTPUTS = 8;
let made = 0; // labels and their fields belong together by a number

/** @param {Output} output only what the laptop takes @returns {Output} */
const plain = ({ by, to, host, port, name, priority, number, interface: way, most_hz }) => ({ by, to, host, port, name, priority, number, interface: way, most_hz });

/**
 * @param {import('./outputs.js').UniverseOutputs} one @param {import('./outputs.js').Outputs} all
 * @param {() => void} done @param {() => void} close
 */
export function makeEditor(one, all, done, close) {
  let own = one.own;
  let steady = one.own_steady;
  let outputs = one.outputs.map(plain);
  const typedWrong = new Set(); // fields that hold no whole number
  const fields = h('div', { className: 'outputs' });
  const will = h('div', { className: 'foreseen', role: 'status' });
  const why = h('p', { className: 'why', role: 'alert' });
  const go = h('button', { type: 'submit', className: 'main', disabled: true }, WORDS.go);
  const add = h('button', { type: 'button', onclick: once(() => change(() => outputs.push({ ...plain(all.usual[0] ?? FRESH), to: 'host', host: '', port: null }))) }, WORDS.add);

  const wanted = () => ({ outputs: own ? outputs : [], steady });
  let asked = 0;
  let timer = 0;
  const check = async () => {
    const mine = ++asked;
    go.disabled = true;
    if (typedWrong.size) return tell(WORDS.whole);
    const told = await call('POST', `/api/outputs/${one.universe}/check`, wanted()).catch((/** @type {Error} */ error) => error);
    if (mine !== asked) return;
    if (told instanceof Error) return tell(told.message);
    write(why, '');
    go.disabled = !told.changes;
    const lines = (/** @type {string} */ title, /** @type {OutputTold[]} */ which) => which.map((output) => h('li', null, h('b', null, title), ' ', said(output)));
    const ends = /** @type {OutputTold[]} */ (told.ends);
    will.replaceChildren(h('ul', null, ...lines(WORDS.begins, told.begins), ...lines(WORDS.ends, ends), ...lines(WORDS.stays, told.stays)),
      h('p', { className: 'hint' }, told.changes ? [told.listens ? said(told.listens) : WORDS.atOnce, ends.length ? WORDS.whatEnds : ''].join(' ') : WORDS.asItIs));
  };
  const tell = (/** @type {string} */ sentence) => {
    will.replaceChildren();
    write(why, sentence);
  };
  const soon = () => {
    clearTimeout(timer);
    [asked, go.disabled] = [asked + 1, true]; // nothing is done that was not said before
    timer = window.setTimeout(() => void check(), TYPED_MS);
  };
  /** Something was pressed: the fields are drawn anew. @param {() => void} doing */
  const change = (doing) => {
    doing();
    draw();
    void check();
  };
  const draw = () => {
    typedWrong.clear();
    mark(add, 'hidden', own ? null : '');
    add.disabled = outputs.length >= MOST_OUTPUTS;
    fields.replaceChildren(
      choice('', [[false, WORDS.asUsual], [true, WORDS.ofItsOwn]], own, (value) => change(() => (own = value))),
      ...(own ? outputs.map((output, at) => fieldset(output, at)) : []));
    rates.replaceChildren(choice(WORDS.rates, [[null, WORDS.rateUsual], [true, WORDS.rateSteady], [false, WORDS.rateChanges]], steady, (value) => change(() => (steady = value))));
  };

  /** @param {Output} output @param {number} at */
  const fieldset = (output, at) => {
    const kinds = /** @type {readonly Output['to'][]} */ (TO[output.by]);
    const usual = output.by === 'sacn' ? one.universe : one.universe - all.offset;
    const more = h('details', null, h('summary', null, WORDS.more),
      text(WORDS.name, output.name, (value) => (output.name = value), { maxLength: 40 }),
      output.to === 'host' && whole(WORDS.port, output.port, String(output.by === 'sacn' ? 5568 : 6454), (value) => (output.port = value)),
      text(WORDS.most, output.most_hz === MOST_HZ ? '' : String(output.most_hz), (value) => (output.most_hz = rateOf(value)), { inputMode: 'decimal', placeholder: String(MOST_HZ) }),
      choice(WORDS.network, [['', WORDS.mainOne], ...ways(output)], output.interface, (value) => change(() => (output.interface = value))));
    more.open = output.name !== '' || output.most_hz !== MOST_HZ || output.interface !== '' || output.port !== null;
    return h('fieldset', null, h('legend', null, WORDS.output(at + 1)),
      choice(WORDS.protocol, PROTOCOLS, output.by, (value) => change(() => Object.assign(output, { by: value, to: output.to === 'host' ? 'host' : TO[value][0], number: null, port: null, priority: null }))),
      choice(WORDS.to, kinds.map((to) => [to, WORDS.kinds[to]]), output.to, (value) => change(() => (output.to = value))),
      output.to === 'broadcast' && h('p', { className: 'caution' }, WORDS.everybody),
      output.to === 'host' && text(WORDS.address, output.host, (value) => (output.host = value.trim()), { inputMode: 'decimal', placeholder: '10.0.0.21', maxLength: 15 }),
      whole(output.by === 'sacn' ? WORDS.numberSacn : WORDS.numberArtnet, output.number, WORDS.asHere(usual), (value) => (output.number = value), output.by === 'artnet' ? parts : undefined),
      output.by === 'sacn' && whole(WORDS.priority, output.priority, WORDS.asHere(all.priority), (value) => (output.priority = value)),
      more,
      h('button', { type: 'button', onclick: once(() => change(() => (outputs = outputs.filter((each) => each !== output)))) }, WORDS.remove(at + 1)));
  };

  /** @param {Output} output @returns {[string, string][]} the other networks, and one that is gone */
  const ways = (output) => {
    const others = all.interfaces.filter((each) => !each.main).map((each) => /** @type {[string, string]} */ ([each.address, `${each.address} (${each.name})`]));
    const isGone = output.interface && !others.some(([address]) => address === output.interface);
    return isGone ? [...others, [output.interface, WORDS.gone(output.interface)]] : others;
  };

  /** @param {string} label @param {string} value @param {(value: string) => void} set @param {Record<string, unknown>} [more] */
  const text = (label, value, set, more = {}) => {
    const id = `output-${++made}`;
    const field = h('input', { id, value, autocomplete: 'off', spellcheck: false, enterKeyHint: 'done', ...more });
    field.addEventListener('input', () => (set(field.value), soon()));
    return h('div', { className: 'field' }, h('label', { for: id }, label), field);
  };
  /** @param {string} label @param {number | null} value @param {string} usual @param {(value: number | null) => void} set @param {(value: number) => string} [about] */
  const whole = (label, value, usual, set, about) => {
    const beside = h('span', { className: 'parts' });
    const tellParts = (/** @type {number | null} */ now) => write(beside, about && now !== null ? about(now) : '');
    const node = text(label, value === null ? '' : String(value), (typed) => {
      const isWhole = /^\d*$/.test(typed.trim());
      if (!isWhole) return void typedWrong.add(node);
      typedWrong.delete(node);
      const now = typed.trim() ? Number(typed) : null;
      set(now);
      tellParts(now);
    }, { inputMode: 'numeric', maxLength: 5, placeholder: usual });
    tellParts(value);
    if (about) node.append(beside);
    return node;
  };

  const rates = h('div', null);
  draw();
  void check();
  return h('form', { className: 'editor', noValidate: true, 'aria-label': WORDS.changeOf(one.universe), onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    if (go.disabled) return;
    go.disabled = true;
    call('PUT', `/api/outputs/${one.universe}`, wanted()).then(done, (/** @type {Error} */ error) => tell(error.message));
  } }, fields, add, rates, h('h3', null, WORDS.will), will, why, h('div', { className: 'ends' }, h('button', { type: 'button', onclick: close }, words.keypad.notNow), go));
}

/** @type {Output} */
const FRESH = { by: 'sacn', to: 'host', host: '', port: null, name: '', priority: null, number: null, interface: '', most_hz: MOST_HZ };

/** @param {string} typed */
const rateOf = (typed) => (typed.trim() ? Number(typed.replace(',', '.')) || 0 : MOST_HZ);

/** @param {number} port */
const parts = (port) => WORDS.parts(port >> 8, (port >> 4) & 15, port & 15);

/**
 * @template T
 * @param {string} label @param {[T, string][]} choices @param {T} now @param {(value: T) => void} set
 */
function choice(label, choices, now, set) {
  const buttons = choices.map(([value, name]) => h('button', { type: 'button', 'aria-pressed': String(value === now), onclick: () => set(value) }, name));
  const group = h('div', { className: 'choice', role: 'group', 'aria-label': label || WORDS.which }, ...buttons);
  return label ? h('div', { className: 'field' }, h('span', { className: 'label' }, label), group) : group;
}
