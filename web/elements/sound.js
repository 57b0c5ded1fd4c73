// @ts-check
/** A soft tone, where somebody has touched the page before and has not switched sound off. Never the only sign. */
import { prefs } from '../state/prefs.js';

/** @type {AudioContext | undefined} */
let audio;

/** Browsers let a page be heard, and felt, only after it was touched; asked before, they complain. */
const touched = () => navigator.userActivation?.hasBeenActive ?? false;

/**
 * @param {number} hertz
 * @param {number} seconds
 * @param {number} [after] seconds from now
 */
export function tone(hertz, seconds, after = 0) {
  if (!prefs.sound.value || !touched() || !('AudioContext' in globalThis)) return;
  audio ??= new AudioContext();
  if (audio.state === 'suspended') void audio.resume();
  const [source, loudness, at] = [audio.createOscillator(), audio.createGain(), audio.currentTime + after];
  source.frequency.value = hertz;
  // It swells and dies away: a click would startle somebody on a ladder.
  loudness.gain.setValueAtTime(0, at);
  loudness.gain.linearRampToValueAtTime(0.08, at + seconds / 4);
  loudness.gain.linearRampToValueAtTime(0, at + seconds);
  source.connect(loudness).connect(audio.destination);
  source.start(at);
  source.stop(at + seconds);
}

/** In the hand, where the phone can. @param {number[]} pattern milliseconds on, off, on … */
export const buzz = (pattern) => touched() && navigator.vibrate?.(pattern);
