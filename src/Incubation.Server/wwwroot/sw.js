// Serves the bench page and its files when the server does not answer, so that a page that is loaded again goes on: it
// keeps its last snapshot itself (js/keep.js). Answers of the API, other pages and what they show are never kept.

/** The worker itself, by its own type. */
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

const CACHE = "incubation-screen";
const PATIENCE_MS = 4000;
const SERVER_FAULT = 500;

// Every file that a bench page uses; a test holds this list against the folder.
const FILES = [
  "/css/alarm.css", "/css/base.css", "/css/bench.css", "/css/catch-up.css", "/css/column.css", "/css/lanes.css",
  "/css/rack.css", "/css/tokens.css", "/favicon.svg", "/js/alarms.js", "/js/alone.js", "/js/alonealarms.js",
  "/js/alonebench.js", "/js/alonecourse.js", "/js/alonefacts.js", "/js/alonequestions.js", "/js/alonescreen.js",
  "/js/also.js", "/js/bench-taps.js", "/js/bench.js", "/js/blazor-start.js", "/js/buzz.js", "/js/camera.js",
  "/js/card.js", "/js/catch-up-bench.js", "/js/catch-up-draft.js", "/js/catch-up-places.js", "/js/catch-up.js",
  "/js/clock.js", "/js/column.js", "/js/context.js", "/js/dayfacts.js", "/js/deliver.js", "/js/dialogs.js",
  "/js/dom.js", "/js/form.js", "/js/format.js", "/js/hands.js", "/js/hearing.js", "/js/keep.js", "/js/labels.js",
  "/js/labelway.js", "/js/lanes.js", "/js/life.js", "/js/listfields.js", "/js/live.js", "/js/notknown.js",
  "/js/offline.js", "/js/ordernetwork.js", "/js/orderreading.js", "/js/outbox.js", "/js/pause.js",
  "/js/questions.js", "/js/rack.js", "/js/rackedit.js", "/js/rackline.js", "/js/racklist.js", "/js/rackopen.js",
  "/js/rackorders.js", "/js/rackpaste.js", "/js/racksend.js", "/js/racksound.js", "/js/racktubes.js",
  "/js/rackview.js", "/js/refused.js", "/js/reports.js", "/js/retiming.js", "/js/screen.js", "/js/screens.js",
  "/js/sound.js", "/js/sounding.js", "/js/soundplan.js", "/js/tellings.js", "/js/times.js", "/js/told.js",
  "/js/types.js", "/js/upcoming.js", "/js/urgent.js", "/js/wedge.js", "/js/who.js", "/js/words.js",
  "/lib/signalr/signalr.min.js", "/manifest.webmanifest",
];

worker.addEventListener("install", event => event.waitUntil(install()));
worker.addEventListener("activate", event => event.waitUntil(worker.clients.claim()));
worker.addEventListener("message", event => {
  if (isBenchPage(event.data?.keep)) event.waitUntil(keepPage(event.data.keep));
});
worker.addEventListener("fetch", event => {
  const { method, mode, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== worker.location.origin) return;
  if (mode === "navigate" && isBenchPage(pathname)) event.respondWith(serverFirst(event.request, pathname));
  else if (mode === "navigate" && pathname === "/") event.respondWith(home(event.request));
  else if (FILES.includes(pathname)) event.respondWith(serverFirst(event.request, pathname));
});

/** @param {string|undefined} path */
function isBenchPage(path) {
  return /^\/bench\/[^/]+$/.test(path ?? "");
}

async function install() {
  const cache = await caches.open(CACHE);
  await cache.addAll(FILES);
  await worker.skipWaiting();
}

/** @param {string} path */
async function keepPage(path) {
  await keep(path, await fetch(path));
}

/**
 * What the server gives, and what it gave last where it does not answer in time.
 * @param {Request} request
 * @param {string} path
 */
async function serverFirst(request, path) {
  const asked = fetch(request);
  try {
    const answer = await Promise.race([asked, late()]);
    if (answer && answer.status < SERVER_FAULT) {
      void keep(path, answer);
      return answer;
    }
  } catch {
    // No server.
  }
  return (await kept(path)) ?? asked;
}

/**
 * An installed screen begins at the list of benches: without a server, with the bench that it showed last.
 * @param {Request} request
 */
async function home(request) {
  try {
    return await fetch(request);
  } catch (fault) {
    const pages = (await (await caches.open(CACHE)).keys()).map(one => new URL(one.url).pathname).filter(isBenchPage);
    if (pages.length === 0) throw fault;
    return Response.redirect(pages[pages.length - 1]);
  }
}

/** @returns {Promise<null>} */
function late() {
  return new Promise(done => setTimeout(() => done(null), PATIENCE_MS));
}

/** @param {string} path */
async function kept(path) {
  // What is being put in its place is there a moment later.
  await keeping;
  return (await caches.open(CACHE)).match(path, { ignoreVary: true });
}

/** Ends when all that is whole is kept. */
let keeping = Promise.resolve();

/**
 * Only what was given as asked for: a way to the sign-in is none.
 * @param {string} path
 * @param {Response} answer
 */
async function keep(path, answer) {
  if (!answer.ok || answer.redirected) return;
  const { status, statusText, headers } = answer;
  // Whole before the one that stands is given up: a server that dies in mid-answer takes nothing away.
  const body = await answer.clone().blob().catch(() => null);
  if (body === null) return;
  keeping = keeping.then(() => replace(path, new Response(body, { status, statusText, headers }))).catch(() => {});
  await keeping;
}

/**
 * @param {string} path
 * @param {Response} whole
 */
async function replace(path, whole) {
  const cache = await caches.open(CACHE);
  // Deleted first: the page shown last stands last.
  await cache.delete(path);
  await cache.put(path, whole);
}
