// @ts-check
/**
 * The drag every surface shares. Touching changes nothing; 8 px of slop are thrown away before anything moves;
 * how far sideways from where the thumb landed sets the gain: 1:1, 1:4, 1:16.
 */
import { keepTaps, tick } from './dom.js';

const SLOP_PX = 8;
const GEARS = /** @type {const} */ ([[56, 1], [120, 1 / 4], [Infinity, 1 / 16]]);
const DOUBLE_MS = 350;
const DOUBLE_PX = 24;

/**
 * @typedef {object} Drag
 * @property {() => boolean} grab the thumb moves for the first time; false gives the drag up
 * @property {(dx: number, dy: number, gain: number) => void} move pixels since the last call
 * @property {(kept: boolean) => void} done let go or cancelled by the system: keep where it is; kept false: dropped by us, ask nothing more
 * @property {() => void} twice tapped twice on the spot
 * @property {boolean} [flat] true where both directions mean something, so there are no gears
 */

/**
 * @param {HTMLElement} surface
 * @param {Drag} drag
 * @returns {() => void} drops a drag that is under way
 */
export function makeDraggable(surface, drag) {
  let id = -1;
  let held = false;
  let fromX = 0;
  let atX = 0;
  let atY = 0;
  let dx = 0;
  let dy = 0;
  let gear = 0;
  let frame = 0;
  let tapped = { x: 0, y: 0, time: -Infinity };

  const flush = () => {
    frame = 0;
    const [x, y] = [dx, dy];
    dx = dy = 0;
    if (held && (x || y)) drag.move(x, y, drag.flat ? 1 : (GEARS[gear]?.[1] ?? 1));
  };
  const end = (kept = true) => {
    if (id < 0) return;
    id = -1;
    cancelAnimationFrame(frame);
    if (kept) flush();
    const was = held;
    held = false;
    frame = dx = dy = 0;
    if (was) drag.done(kept);
    surface.removeAttribute('data-gear');
    surface.removeAttribute('data-held');
  };

  surface.addEventListener('pointerdown', (event) => {
    if (id >= 0 || event.button > 0) return;
    id = event.pointerId;
    surface.setPointerCapture(id);
    [fromX, atX, atY, dx, dy, gear] = [event.clientX, event.clientX, event.clientY, 0, 0, 0];
    event.preventDefault();
  });
  surface.addEventListener('pointermove', (event) => {
    if (event.pointerId !== id) return;
    if (!held) {
      if (Math.hypot(event.clientX - atX, event.clientY - atY) < SLOP_PX) return;
      held = drag.grab();
      if (!held) {
        id = -1;
        return;
      }
      surface.setAttribute('data-held', '');
      // The slop is thrown away along the way the thumb went, so the value starts where it was.
      const far = Math.hypot(event.clientX - atX, event.clientY - atY);
      atX += ((event.clientX - atX) * SLOP_PX) / far;
      atY += ((event.clientY - atY) * SLOP_PX) / far;
    }
    const away = Math.abs(event.clientX - fromX);
    const now = GEARS.findIndex(([limit]) => away < limit);
    if (now !== gear && !drag.flat) {
      flush();
      gear = now;
      surface.setAttribute('data-gear', ['', '1/4', '1/16'][gear] ?? '');
      tick();
    }
    dx += event.clientX - atX;
    dy += event.clientY - atY;
    [atX, atY] = [event.clientX, event.clientY];
    frame ||= requestAnimationFrame(flush);
  });
  for (const name of /** @type {const} */ (['pointerup', 'pointercancel', 'lostpointercapture']))
    surface.addEventListener(name, (event) => {
      if (event.pointerId !== id) return;
      const tap = !held && name === 'pointerup';
      end();
      if (!tap) return;
      const near = Math.hypot(event.clientX - tapped.x, event.clientY - tapped.y) < DOUBLE_PX;
      if (near && event.timeStamp - tapped.time < DOUBLE_MS) drag.twice();
      tapped = { x: event.clientX, y: event.clientY, time: event.timeStamp };
    });
  surface.addEventListener('contextmenu', (event) => event.preventDefault());
  keepTaps(surface);
  return () => end(false);
}
