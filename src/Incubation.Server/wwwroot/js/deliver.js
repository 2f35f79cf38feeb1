// One command's way to the server and its answer's way back: by the hub where it is connected, else by HTTP. What is no
// answer of the server's own (a fault, a status that something between has made) is "not now".

/** @import { Waiting } from "./outbox.js" */
/** @import { CommandAnswer, ScreenCommand } from "./types.js" */

export const ANSWER_PATIENCE_MS = 8000;

const UNAUTHORIZED = 401;
const FORBIDDEN = 403;

/**
 * The answer by the hub; null where none comes.
 * @param {{invoke: (name: string, ...parts: unknown[]) => Promise<any>}} hub
 * @param {string} bench
 * @param {ScreenCommand} command
 * @returns {Promise<CommandAnswer|null>}
 */
export async function byHub(hub, bench, command) {
  try {
    return await Promise.race([hub.invoke("Send", bench, asSent(command)), nothingAfter(ANSWER_PATIENCE_MS)]);
  } catch (fault) {
    const said = /HubException: (.*)$/s.exec(String(fault))?.[1];
    return said ? later(said) : null;
  }
}

/**
 * The answer by HTTP; null where none comes.
 * @param {string} bench
 * @param {ScreenCommand} command
 * @returns {Promise<CommandAnswer|null>}
 */
export async function byHttp(bench, command) {
  try {
    const answer = await fetch(`api/v1/benches/${encodeURIComponent(bench)}/commands`, {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(asSent(command)),
      signal: AbortSignal.timeout(ANSWER_PATIENCE_MS),
    });
    const body = await answer.json().catch(() => null);
    if (typeof body?.kind === "string") return body;
    if (answer.ok) return body;
    const signIn = answer.status === UNAUTHORIZED || answer.status === FORBIDDEN;
    return later(body?.detail ?? null, Number(answer.headers?.get("Retry-After")) || null, signIn);
  } catch {
    return null;
  }
}

/**
 * A command without what only the page that keeps it needs.
 * @param {Waiting} command
 * @returns {ScreenCommand}
 */
function asSent({ tapped, ...said }) {
  return said;
}

/**
 * @param {string|null} sentence
 * @param {number|null} [retryAfter]
 * @param {boolean} [signIn]
 * @returns {CommandAnswer}
 */
function later(sentence, retryAfter = null, signIn = false) {
  return { recorded: false, sentence, revision: 0, signIn, kind: "not-now", retryAfter };
}

/**
 * @param {number} ms
 * @returns {Promise<null>}
 */
export function nothingAfter(ms) {
  return new Promise(done => setTimeout(() => done(null), ms));
}
