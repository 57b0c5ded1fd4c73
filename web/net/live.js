// @ts-check
/** The socket: hello, change, ok, refused, silence, backoff. Plain JSON in and out, no DOM. */
import { connect, take } from '../state/asked.js';
import { rig } from '../state/rig.js';

const WAITING_MS = 1500; // the server says something at least each 500 ms
const GONE_MS = 2000;
const HELLO_MS = 15000; // a big hello over slow Wi-Fi takes seconds: the silence clock starts after it
const FAR_MS = 5000; // by then it is no doze of the phone and no step behind a pillar (common practice, no source)
const NOT_JOINED = 4401; // the server's close codes for a phone it does not know, and for one the lead has removed
const REMOVED = 4403;
const BACKOFF_MS = [100, 200, 400, 800, 1000];

/** @type {WebSocket | null} */ let socket = null;
let heard = 0;
let greeted = false;
let tries = 0;
let retry = 0;
let clock = 0;
let far = 0;
/** @type {Map<number, number>} when each question without an answer left */ const left = new Map();
/** @type {number[]} */ const took = [];

const FEW = 5; // answers: enough that one late packet is not the signal

/** Opens the socket, or takes over the one that early.js opened. */
export function open() {
  clearTimeout(retry);
  const early = /** @type {any} */ (globalThis).fcEarly;
  delete (/** @type {any} */ (globalThis).fcEarly);
  close();
  greeted = false;
  heard = performance.now();
  const mine = (socket = early?.socket ?? new WebSocket(`${location.origin.replace(/^http/, 'ws')}/api/live`));
  mine.onmessage = (/** @type {MessageEvent} */ event) => mine === socket && hear(JSON.parse(event.data));
  mine.onclose = (/** @type {CloseEvent} */ event) => mine === socket && lost(event.code);
  for (const event of early?.kept ?? []) hear(JSON.parse(event.data));
  if (mine.readyState > WebSocket.OPEN) lost(early?.code);
  clock ||= window.setInterval(listen, 250);
}

/** Ends the connection and keeps it ended, until `open`. */
export function close() {
  const old = socket;
  socket = null;
  connect(null);
  old?.close();
}

/** @param {import('./contract.js').Incoming} message */
function hear(message) {
  heard = performance.now();
  if (message.is === 'refused' && !greeted) return; // not let in; the close code says so too
  if (message.is === 'hello') {
    greeted = true;
    tries = 0;
    clearTimeout(far);
    far = 0;
    rig.far.value = false;
    left.clear();
    connect((command) => {
      if (socket?.readyState !== WebSocket.OPEN) return;
      left.set(command.n, performance.now());
      socket.send(JSON.stringify(command));
    });
  } else if (message.is === 'ok' || message.is === 'refused') measure(message.n);
  take(message);
  if (greeted && rig.link.value !== 'live') rig.link.value = 'live';
}

/** @param {number} n */
function measure(n) {
  const at = left.get(n);
  if (at === undefined) return;
  left.delete(n);
  took.push(performance.now() - at);
  if (took.length > FEW) took.shift();
}

/** @returns {number | null} milliseconds from asking to being answered, the median of the last few; null: nothing was asked yet */
export function roundTrip() {
  const sorted = [...took].sort((a, b) => a - b);
  const middle = sorted[sorted.length >> 1];
  return middle === undefined ? null : Math.round(middle);
}

function listen() {
  if (!socket) return;
  const silent = performance.now() - heard;
  if (silent > (greeted ? GONE_MS : HELLO_MS)) lost();
  else if (greeted && silent > WAITING_MS) rig.link.value = 'waiting';
}

/** @param {number} [code] the close code, where there was one */
function lost(code) {
  close();
  if (code === NOT_JOINED || code === REMOVED) {
    rig.isRemoved = code === REMOVED;
    rig.link.value = 'join';
    return;
  }
  rig.link.value = 'none';
  far ||= window.setTimeout(() => (rig.far.value = true), FAR_MS - Math.min(performance.now() - heard, GONE_MS));
  if (document.visibilityState === 'hidden') return; // tried again when somebody looks
  const pause = (BACKOFF_MS[tries] ?? 1000) * (0.5 + Math.random());
  tries += 1;
  retry = window.setTimeout(open, pause);
}

function again() {
  if (rig.link.value === 'join' || document.visibilityState === 'hidden') return;
  if (socket && greeted && performance.now() - heard < WAITING_MS) return;
  if (socket && !greeted && socket.readyState === WebSocket.CONNECTING && performance.now() - heard < WAITING_MS) return;
  tries = 0;
  open();
}

// Phones freeze a page and its socket may be a corpse without a close event.
for (const name of ['online', 'pageshow']) window.addEventListener(name, (event) => {
  if (name === 'pageshow' && !(/** @type {PageTransitionEvent} */ (event).persisted)) return;
  again();
});
document.addEventListener('visibilitychange', again);
