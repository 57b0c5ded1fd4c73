// @ts-check
/** Calls over HTTP. A failure is a sentence a person can act on. */
import { fetchLaptopWords, said, words } from '../words/words.js';

/**
 * @param {string} method
 * @param {string} path
 * @param {unknown} [body] sent as JSON; a file as it is
 * @returns {Promise<any>} the JSON answered, null when there is none
 * @throws {Error} its message is the sentence to show; cause: all that was answered
 */
export async function call(method, path, body) {
  /** @type {RequestInit} */
  const request = { method, headers: { accept: 'application/json' } };
  if (body instanceof Blob) {
    request.headers = { ...request.headers, 'content-type': 'application/octet-stream' };
    request.body = body;
  } else if (body !== undefined) {
    request.headers = { ...request.headers, 'content-type': 'application/json' };
    request.body = JSON.stringify(body);
  }
  const answer = await fetch(path, request).catch(() => null);
  if (!answer) throw new Error(words.link.notChanged);
  const json = await answer.json().catch(() => null);
  if (!answer.ok) {
    await fetchLaptopWords();
    throw new Error(json?.detail && typeof json.detail === 'string' ? said({ why: json.detail, said: json.said }) : words.link.saidNo(answer.status), { cause: json });
  }
  return json;
}
