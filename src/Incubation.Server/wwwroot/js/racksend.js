// A rack's way to the server. What is no answer of the server's own is none: the list stays, and is sent again.

/** @import { RackLine, Sending } from "./racklist.js" */
/** @import { RackOrder } from "./rackorders.js" */

const PATIENCE_MS = 8000;
const UNAUTHORIZED = 401;
const FORBIDDEN = 403;
const FIRST_FAULT = 500;
const TOO_MANY = 429;

/** @typedef {{line: string, code: string, sentence: string, settle: string|null, instead: string|null}} RackDoubt */
/** @typedef {{lot: string, text: string}} RackLot */
/** @typedef {{code: string, name: string, lots: RackLot[], noLot: string|null, types: string[]}} RackAssay */
/** @typedef {{name: string, assays: string[]}} RackPanel */
/** @typedef {{serverTime: string, rate: number, assays: RackAssay[], panels?: RackPanel[]}} RackSheet */

/**
 * @typedef {object} RackAnswer
 * @property {boolean} added
 * @property {string|null} sentence
 * @property {RackDoubt[]} doubts
 * @property {string[]|null} [requests] What was added.
 * @property {boolean} [isLater] Nothing is known of it: it is to be sent again, as it is.
 * @property {boolean} [isSignIn] Somebody must sign in first.
 */

/**
 * @param {string} bench
 * @returns {Promise<{sheet: RackSheet|null, sentence: string|null, isOffline: boolean}>} The sentence says why there is
 * none.
 */
export async function askSheet(bench) {
  const { status, body } = await ask(bench, "", null);
  return status === 200 ? { sheet: body, sentence: null, isOffline: false }
    : { sheet: null, sentence: body?.detail ?? null, isOffline: isNoAnswer(status) };
}

/**
 * @param {string} bench
 * @param {RackLine[]} lines
 * @returns {Promise<{doubts: RackDoubt[]|null, orders: RackOrder[], isOffline: boolean}>} No doubts where they are not
 * known.
 */
export async function askDoubts(bench, lines) {
  const { status, body } = await ask(bench, "/check", { lines: lines.map(asSent) });
  const isKnown = status === 200;
  return {
    doubts: isKnown ? body.doubts : null, orders: isKnown ? (body.orders ?? []) : [], isOffline: isNoAnswer(status),
  };
}

/** @param {number} status */
function isNoAnswer(status) {
  return status === 0 || status >= FIRST_FAULT;
}

/** @typedef {{line: number, column: number, sentence: string, heading: string|null}} ListFault */
/** @typedef {{lines: Omit<RackLine, "id"|"settled">[], faults: ListFault[], report: string}} RackRead */

/**
 * What a pasted list or a file says.
 * @param {string} bench
 * @param {string} text
 * @returns {Promise<{status: number, body: any}>} A {@link RackRead} where the status is 200; status 0 where no answer
 *   comes.
 */
export async function readText(bench, text) {
  return await ask(bench, "/read", { text });
}

/** @param {string} bench @param {Sending} sending @returns {Promise<RackAnswer>} */
export async function add(bench, sending) {
  const { status, body } = await ask(bench, "", { report: sending.report, lines: sending.lines.map(asSent) });
  if (status === 200) return body;
  const sentence = typeof body?.detail === "string" ? body.detail : null;
  const isSignIn = status === UNAUTHORIZED || status === FORBIDDEN;
  const isLater = status === 0 || status >= FIRST_FAULT || status === TOO_MANY || isSignIn;
  return { added: false, sentence, doubts: [], isLater, isSignIn };
}

/**
 * What the server knows of a line; it refuses what it does not know.
 * @param {RackLine} line
 */
function asSent(line) {
  const { id, specimen, assays, urgent, takenOut, settled, identifier, specimenType, collected, due } = line;
  const { lots, bench } = line;
  return { id, specimen, assays, urgent, takenOut, settled, identifier, specimenType, collected, due, lots, bench };
}

/**
 * @param {string} bench
 * @param {string} path
 * @param {unknown} said Null to ask for what is there.
 * @returns {Promise<{status: number, body: any}>} Status 0 where no answer comes.
 */
async function ask(bench, path, said) {
  try {
    const answer = await fetch(`api/v1/benches/${encodeURIComponent(bench)}/rack${path}`, {
      ...(said === null ? { cache: "no-store" } : {
        method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(said),
      }),
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    return { status: answer.status, body: await answer.json().catch(() => null) };
  } catch {
    return { status: 0, body: null };
  }
}
