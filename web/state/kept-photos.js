// @ts-check
/** Pictures taken without a link, in the browser's own store: too large for what `later.js` writes down. */

import { add } from './later.js';

const STORE = 'photos';

/** @returns {Promise<IDBDatabase>} */
function opened() {
  return new Promise((done, fail) => {
    const asked = indexedDB.open('fc', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE);
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
}

/**
 * @template T
 * @param {IDBTransactionMode} mode @param {(store: IDBObjectStore) => IDBRequest<T>} act
 * @returns {Promise<T>}
 */
async function inStore(mode, act) {
  const base = await opened();
  try {
    return await new Promise((done, fail) => {
      const change = base.transaction(STORE, mode);
      const asked = act(change.objectStore(STORE));
      change.oncomplete = () => done(asked.result);
      change.onerror = change.onabort = () => fail(change.error);
    });
  } finally {
    base.close();
  }
}

/**
 * Keep a photo that cannot be sent now; what mentions it is written down after it, and comes in after it.
 * @param {string} fixture @param {Blob} picture JPEG
 * @returns {Promise<string>} its name
 */
export async function keepPhoto(fixture, picture) {
  const photo = [...crypto.getRandomValues(new Uint8Array(16))].map((octet) => octet.toString(16).padStart(2, '0')).join('');
  await inStore('readwrite', (store) => store.put(picture, photo));
  add(photo, { do: 'photo', fixture, photo });
  return photo;
}

/** @param {string} photo @returns {Promise<Blob | undefined>} */
export const keptPicture = (photo) => inStore('readonly', (store) => store.get(photo));
/** @param {string} photo */
export const dropPicture = (photo) => inStore('readwrite', (store) => store.delete(photo));
