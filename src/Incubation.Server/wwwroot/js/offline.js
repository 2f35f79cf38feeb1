// What lets a bench page go on without its server even when it is loaded again: the worker that serves its files, and
// nothing left behind where somebody has signed out.

import { forgetAll, forgetOld } from "./keep.js";

/** To be called by every page, also by one that was exchanged for another. */
export function prepareForAlone() {
  if (location.pathname.endsWith("/sign-in")) forgetAll();
  else if (!document.querySelector('[data-screen="bench"]')) forgetOld(Date.now());
  // Not there without TLS beyond this machine; then a page loaded again needs its server.
  const { serviceWorker } = navigator;
  if (!serviceWorker) return;
  serviceWorker.register("sw.js").catch(() => {});
  // The first page of all was loaded before there was a worker to keep it.
  if (document.querySelector('[data-screen="bench"]'))
    void serviceWorker.ready.then(worker => worker.active?.postMessage({ keep: location.pathname }));
}
