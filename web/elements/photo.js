// @ts-check
/** A photo of a fixture: taken with the phone's own camera, made small, sent, shown. */
import { call } from '../net/http.js';
import { keepPhoto } from '../state/kept-photos.js';
import { rig } from '../state/rig.js';
import { late } from '../words/late.js';
import { h, mark, write } from './dom.js';
import { say } from './say.js';

const LONG_SIDE = 1280; // enough to see a shutter cut; the laptop takes 400 kB
const QUALITY = [0.75, 0.6, 0.4, 0.25];
const MOST_OCTETS = 380 * 1024;
const WORDS = late.photo;

/** @param {string} photo @returns {string} where the picture is */
export const pictureOf = (photo) => `/api/photos/${encodeURIComponent(photo)}`;

/**
 * The picture drawn anew: what the phone wrote beside it (place, time, model) stays on the phone.
 * @param {Blob} file as the camera gave it
 * @returns {Promise<Blob>} JPEG
 * @throws {Error} its message is the sentence to show
 */
export async function small(file) {
  const image = await createImageBitmap(file).catch(() => null);
  if (!image) throw new Error(WORDS.noPicture);
  const scale = Math.min(1, LONG_SIDE / Math.max(image.width, image.height));
  const canvas = h('canvas', { width: Math.max(1, Math.round(image.width * scale)), height: Math.max(1, Math.round(image.height * scale)) });
  canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
  image.close();
  for (const quality of QUALITY) {
    /** @type {Blob | null} */
    const blob = await new Promise((done) => canvas.toBlob(done, 'image/jpeg', quality));
    if (blob && blob.size <= MOST_OCTETS) return blob;
  }
  throw new Error(WORDS.noPicture);
}

/**
 * Takes one photo of a fixture. `photo` is its name at the laptop once it is kept there, "" before and after a change
 * of mind; `then` hears of it.
 * @param {string} fixture
 * @param {(photo: string) => void} [then]
 */
export function photoButton(fixture, then) {
  let photo = '';
  const field = h('input', { type: 'file', accept: 'image/*', className: 'unseen', tabIndex: -1, 'aria-hidden': 'true' });
  field.setAttribute('capture', 'environment');
  const shown = h('span', null, WORDS.take);
  const button = h('button', { type: 'button', onclick: () => (photo ? put('') : field.click()) }, shown);
  const picture = h('img', { alt: WORDS.picture, hidden: true });
  const node = h('div', { className: 'photo' }, button, field, picture);
  const put = (/** @type {string} */ name, source = '') => {
    photo = name;
    write(shown, name ? WORDS.leaveOut : WORDS.take);
    picture.hidden = !name;
    URL.revokeObjectURL(picture.src);
    if (name) picture.src = source;
    then?.(name);
  };
  field.addEventListener('change', async () => {
    const file = field.files?.[0];
    field.value = '';
    if (!file) return;
    button.disabled = true;
    write(shown, WORDS.sending);
    mark(node, 'aria-busy', true);
    try {
      const picture = await small(file);
      const name = rig.link.value === 'live' ? (await call('POST', `/api/photos?fixture=${encodeURIComponent(fixture)}`, picture)).photo : await keepPhoto(fixture, picture);
      put(name, URL.createObjectURL(picture));
    } catch (error) {
      put('');
      say(/** @type {Error} */ (error).message);
    }
    button.disabled = false;
    mark(node, 'aria-busy', false);
  });
  return {
    node,
    get photo() {
      return photo;
    },
  };
}
