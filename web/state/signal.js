// @ts-check
/** Tells the lead how long this phone waits for an answer: seldom, and only while somebody looks at it. */
import { roundTrip } from '../net/live.js';
import { command } from './asked.js';
import { rig } from './rig.js';

const EACH_MS = 5000;
let told = -Infinity;

async function tell() {
  const now = performance.now();
  if (rig.link.value !== 'live' || document.visibilityState === 'hidden' || now - told < EACH_MS) return;
  const known = roundTrip();
  told = now;
  const answer = await command({ do: 'signal', rtt_ms: known }, true);
  if (known === null && answer.is === 'ok') told = -Infinity; // asked only so as to measure: it can be told now
}
setInterval(() => void tell(), 1000);
